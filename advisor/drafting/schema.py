"""The drafting call: request and answer."""

from typing import Annotated

from pydantic import Field

from advisor.schema.base import Asked, BalanceStep, Grams, Key, Percent, Shape
from advisor.schema.findings import Answer, Check, Consistency, Finding, TextItem, Totals
from advisor.schema.material import Materials
from advisor.schema.recipe import DraftWishes, GramLine, PercentRecipe, Shelf

OptionsAtMost = Annotated[int, Field(strict=True, ge=1, le=10)]


class DraftRequest(Asked):
    """A wish and what is at hand; ``features`` are materials that shall be in it, at their percent.

    ``balance_step`` is what the balance reads to on which the trial is weighed [g].
    """

    wishes: DraftWishes = Field(default_factory=DraftWishes)
    shelf: Shelf
    features: Annotated[dict[Key, Percent], Field(max_length=6)] = Field(default_factory=dict)
    batch_grams: Grams | None = None
    balance_step: BalanceStep | None = None
    options_at_most: OptionsAtMost = 3
    materials: Materials | None = None


class TrialDough(Shape):
    """The small dough that decides [g]."""

    batch_grams: float
    lines: tuple[GramLine, ...]


class DraftOption(Shape):
    """One new recipe of a family, as an assessment sees it, with its trial dough.

    ``asked_for`` says what a material is in for that nobody wished; ``batch`` is the recipe in grams where a
    batch was asked for.
    """

    family: str
    recipe: PercentRecipe
    findings: tuple[Finding, ...]
    totals: Totals
    consistency: Consistency
    checks: tuple[Check, ...]
    good_at: tuple[str, ...]
    weak_at: tuple[str, ...]
    asked_for: tuple[str, ...]
    trial: TrialDough
    batch: tuple[GramLine, ...] | None


class DraftAnswer(Answer):
    """Up to as many recipes as were asked for, each of a family of its own.

    ``left_out`` says what keeps the nearest of the others out, where fewer fit than were asked for.
    """

    options: tuple[DraftOption, ...]
    left_out: tuple[TextItem, ...]
