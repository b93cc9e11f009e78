"""How much is made and on which balance, as requests for the next batch carry it."""

from typing import Self

from pydantic import model_validator

from advisor.schema.acidity import WithPH
from advisor.schema.base import BalanceStep, Grams


class WithBatch(WithPH):
    """A request that may say how much is made [g], and what the balance reads to [g]."""

    batch_grams: Grams | None = None
    balance_step: BalanceStep | None = None

    @model_validator(mode="after")
    def _step_fits(self) -> Self:
        if self.batch_grams and self.balance_step and self.balance_step > self.batch_grams:
            raise ValueError("balance_step is coarser than the whole batch")
        return self
