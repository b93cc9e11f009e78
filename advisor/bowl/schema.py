"""The calls on what is in a bowl, what may be added and how a slip is mended: requests and answers."""

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from advisor.schema.base import BalanceStep, Flag, Grams, GramsOrZero, Key, Shape
from advisor.schema.findings import Answer, Check, State, TextItem
from advisor.schema.recipe import (
    GramLine,
    GramRecipe,
    OfRecipe,
    OfRecipeAndShelf,
    PercentRecipe,
    Report,
    Shelf,
)


class AdditionRequest(OfRecipeAndShelf):
    """A dough in the bowl [g, before the loss], what the maker saw, and the balance [g]."""

    lost_grams: GramsOrZero | None = None
    report: Report
    balance_step: BalanceStep
    smallest_grams: Grams | None = None

    @model_validator(mode="after")
    def _can_be_weighed(self) -> Self:
        grams = [line.grams for line in self.recipe.lines if line.grams is not None]
        if grams and sum(grams) < self.balance_step:
            raise ValueError("balance_step is coarser than the whole dough")
        return self


class AddedLine(Shape):
    """What to add of one material [g]; ``exact_grams`` is what a perfect balance would weigh.

    ``why_figures`` tells what were so without it.
    """

    material: str
    grams: float
    exact_grams: float
    why: str
    why_figures: str = ""


class Shortfall(Shape):
    """A demand that additions cannot meet, and by how much it is missed in its unit."""

    demand: str
    by: float
    unit: str
    bound: float
    value: float
    state: Literal["as_made", "as_dried"]


class AdditionAnswer(Answer):
    """What to add to the bowl, in which stages, and where that leads; ``second_go`` is what is left [g]."""

    additions: tuple[AddedLine, ...]
    stages: tuple[tuple[GramLine, ...], ...]
    second_go: tuple[GramLine, ...]
    bowl_after: GramRecipe
    shortfalls: tuple[Shortfall, ...]
    before: State
    after: State
    checks: tuple[Check, ...]
    advice: tuple[TextItem, ...]
    questions: tuple[TextItem, ...]


class RecoveryRequest(OfRecipe):
    """A planned batch [g] and what is really in the bowl of some of its materials [g]."""

    batch_grams: Grams
    weighed: Annotated[dict[Key, Grams], Field(min_length=1, max_length=200)]
    mixed: Flag
    balance_step: BalanceStep
    shelf: Shelf | None = None

    @model_validator(mode="after")
    def _can_be_weighed(self) -> Self:
        if self.batch_grams < self.balance_step:
            raise ValueError("balance_step is coarser than the whole batch")
        return self


class Recovery(Shape):
    """One way out: what still goes in [g], and the batch it makes."""

    additions: tuple[AddedLine, ...]
    batch_grams: float
    recipe: PercentRecipe
    shortfalls: tuple[Shortfall, ...]
    checks: tuple[Check, ...]


class RecoveryAnswer(Answer):
    """Both ways out, and what to take out while nothing is mixed [g]."""

    exact: Recovery
    smallest: Recovery
    take_out: tuple[GramLine, ...]
    advice: tuple[TextItem, ...]
