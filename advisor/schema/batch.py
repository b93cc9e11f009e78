"""What requests about a recipe have in common: wishes, shelf and past, the pH that was read, the batch."""

from typing import Self

from pydantic import model_validator

from advisor.schema.base import PH, Asked, BalanceStep, Grams, Percent
from advisor.schema.material import Materials
from advisor.schema.recipe import History, Recipe, Shelf, Wishes


class WithPH(Asked):
    """A request that may say which pH was read, and in a dispersion of how many percent (default: 10)."""

    ph: PH | None = None
    ph_at_percent: Percent | None = None

    @model_validator(mode="after")
    def _of_a_reading(self) -> Self:
        if self.ph_at_percent is not None and self.ph is None:
            raise ValueError("ph_at_percent says how ph was read, and no ph is told")
        return self


class OfRecipe(WithPH):
    """A request about one recipe, what is wished of it, and materials that the rules do not know."""

    recipe: Recipe
    wishes: Wishes | None = None
    materials: Materials | None = None


class OfRecipeAndShelf(OfRecipe):
    """A request that may also name what is at hand, and earlier doughs."""

    shelf: Shelf | None = None
    history: History | None = None


class WithBatch(WithPH):
    """A request that may say how much is made [g], and what the balance reads to [g]."""

    batch_grams: Grams | None = None
    balance_step: BalanceStep | None = None

    @model_validator(mode="after")
    def _step_fits(self) -> Self:
        if self.batch_grams and self.balance_step and self.balance_step > self.batch_grams:
            raise ValueError("balance_step is coarser than the whole batch")
        return self
