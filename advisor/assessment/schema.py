"""The assessment call: request and answer."""

from advisor.schema.base import PH, Asked
from advisor.schema.findings import Answer, Check, Consistency, Totals
from advisor.schema.material import Materials
from advisor.schema.recipe import Recipe
from advisor.schema.report import History, Report
from advisor.schema.wishes import Wishes


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
