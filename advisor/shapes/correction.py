"""The one place of the correction call: request and answer."""

from typing import Annotated, Literal

from pydantic import Field

from advisor.shapes.assessment import History, Materials
from advisor.shapes.base import Asked, Key
from advisor.shapes.findings import Answer, Change, Check, HoldBack, Sensitivity, State, TextItem
from advisor.shapes.recipe import PercentRecipe, Recipe
from advisor.shapes.report import Report
from advisor.shapes.wishes import Wishes

Shelf = Annotated[tuple[Key, ...], Field(max_length=1000)]


class CorrectionRequest(Asked):
    """A recipe whose dough failed, and what the maker saw."""

    recipe: Recipe
    report: Report
    wishes: Wishes | None = None
    shelf: Shelf | None = None
    materials: Materials | None = None
    history: History | None = None


class CorrectionAnswer(Answer):
    """The next recipe, with what moved and why."""

    status: Literal["corrected", "unchanged"]
    recipe: PercentRecipe
    changes: tuple[Change, ...]
    before: State
    after: State
    checks: tuple[Check, ...]
    advice: tuple[TextItem, ...]
    questions: tuple[TextItem, ...]
    sensitivities: tuple[Sensitivity, ...]
    hold_back: tuple[HoldBack, ...]
