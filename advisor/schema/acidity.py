"""The pH that was read of a dough, as every request about a recipe may carry it."""

from typing import Self

from pydantic import model_validator

from advisor.schema.base import PH, Asked, Percent


class WithPH(Asked):
    """A request that may say which pH was read, and in a dispersion of how many percent (default: 10)."""

    ph: PH | None = None
    ph_at_percent: Percent | None = None

    @model_validator(mode="after")
    def _of_a_reading(self) -> Self:
        if self.ph_at_percent is not None and self.ph is None:
            raise ValueError("ph_at_percent says how ph was read, and no ph is told")
        return self
