"""The one place of the assessment call: request and answer."""

from typing import Annotated

from pydantic import Field

from advisor.shapes.base import PH, Asked
from advisor.shapes.findings import Answer, Check, Consistency, Totals
from advisor.shapes.material import Material
from advisor.shapes.recipe import Recipe
from advisor.shapes.report import PastDough, Report
from advisor.shapes.wishes import Wishes

Materials = Annotated[tuple[Material, ...], Field(max_length=1000)]
History = Annotated[tuple[PastDough, ...], Field(max_length=500)]


class AssessmentRequest(Asked):
    """A recipe to look at as it stands; ``ph`` is that of the bar, measured in dispersion."""

    recipe: Recipe
    wishes: Wishes | None = None
    materials: Materials | None = None
    report: Report | None = None
    history: History | None = None
    ph: PH | None = None


class AssessmentAnswer(Answer):
    """The recipe's arithmetic, its consistency and every demand held against it."""

    totals: Totals
    consistency: Consistency
    checks: tuple[Check, ...]
