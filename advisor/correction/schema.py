"""The correction call: request and answer."""

from typing import Literal

from advisor.schema.findings import Answer, Change, Check, HoldBack, Sensitivity, State, TextItem
from advisor.schema.recipe import OfRecipeAndShelf, PercentRecipe, Report, WithBatch


class CorrectionRequest(WithBatch, OfRecipeAndShelf):
    """A recipe whose dough failed, and what the maker saw."""

    report: Report


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
