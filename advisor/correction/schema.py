"""The correction call: request and answer."""

from typing import Literal

from advisor.schema.batch import WithBatch
from advisor.schema.findings import Answer, Change, Check, HoldBack, Sensitivity, State, TextItem
from advisor.schema.material import Materials
from advisor.schema.recipe import History, PercentRecipe, Recipe, Report, Shelf, Wishes


class CorrectionRequest(WithBatch):
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
