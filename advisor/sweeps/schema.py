"""The sweep call: one task asked of many recipes, request and answer."""

from typing import Annotated, Any, Literal

from pydantic import Field, RootModel, SkipValidation

from advisor.assessment.schema import AssessmentAnswer
from advisor.correction.schema import CorrectionAnswer
from advisor.schema.base import PH, Asked, Key, Shape
from advisor.schema.findings import Answer
from advisor.schema.material import Materials
from advisor.schema.recipe import History, Recipe, Report, Shelf, Wishes
from advisor.substitution.schema import OptionsAtMost, SubstitutionAnswer

Swept = Literal["correction", "substitution", "assessment"]
MOST_RECIPES = 10_000
Anything = Annotated[Any, Field(description="What is no recipe is refused in its place.")]
Recipes = Annotated[
    tuple[SkipValidation[Recipe | Anything], ...], Field(min_length=1, max_length=MOST_RECIPES)
]


class _Sweep(Asked):
    recipes: Recipes
    wishes: Wishes | None = None
    materials: Materials | None = None
    history: History | None = None


class CorrectionSweep(_Sweep):
    """Recipes whose doughs all failed alike."""

    task: Literal["correction"]
    report: Report
    shelf: Shelf | None = None


class SubstitutionSweep(_Sweep):
    """Recipes that may hold a material that cannot be had."""

    task: Literal["substitution"]
    missing: Key
    replacements: Annotated[tuple[Key, ...], Field(max_length=1000)] | None = None
    shelf: Shelf | None = None
    options_at_most: OptionsAtMost = 5


class AssessmentSweep(_Sweep):
    """Recipes to look at as they stand."""

    task: Literal["assessment"]
    report: Report | None = None
    ph: PH | None = None


class SweepRequest(
    RootModel[Annotated[CorrectionSweep | SubstitutionSweep | AssessmentSweep, Field(discriminator="task")]]
):
    """One task asked of many recipes; what is not a recipe is shared by all.

    Each recipe is judged by itself: one that is wrong, or that nothing fits, fails in its place.
    """


class Answered(Shape):
    """The answer to one recipe; ``index`` counts from 0 in the order asked."""

    index: int
    answer: CorrectionAnswer | SubstitutionAnswer | AssessmentAnswer


class Refused(Shape):
    """The problem (RFC 9457) of one recipe; ``index`` counts from 0 in the order asked."""

    index: int
    problem: dict[str, Any]


class SweepAnswer(Answer):
    """One entry a recipe, in the order asked."""

    answers: tuple[Answered | Refused, ...]
