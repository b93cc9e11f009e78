"""The call on over-weighed materials: request and answer."""

from typing import Annotated, Self

from pydantic import Field, model_validator

from advisor.bowl.add_schema import AddedLine, Shortfall
from advisor.schema.acidity import WithPH
from advisor.schema.base import BalanceStep, Flag, Grams, Key, Shape
from advisor.schema.findings import Answer, Check, TextItem
from advisor.schema.material import Materials
from advisor.schema.recipe import GramLine, PercentRecipe, Recipe, Shelf
from advisor.schema.wishes import Wishes


class RecoveryRequest(WithPH):
    """A planned batch [g] and what is really in the bowl of some of its materials [g]."""

    recipe: Recipe
    batch_grams: Grams
    weighed: Annotated[dict[Key, Grams], Field(min_length=1, max_length=200)]
    mixed: Flag
    balance_step: BalanceStep
    wishes: Wishes | None = None
    shelf: Shelf | None = None
    materials: Materials | None = None

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
