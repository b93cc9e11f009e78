"""A batch in grams: what a percent of the recipe weighs in it."""

from advisor.errors import Fault, InvalidRequest
from advisor.frozen import dataclass
from advisor.recipe.grams import of_steps
from advisor.schema.recipe import WithBatch


@dataclass(frozen=True, slots=True)
class Batch:
    """How much is made [g], None where nobody told, and the step of the balance [g]."""

    grams: float | None = None
    step: float | None = None

    @classmethod
    def of(cls, request: WithBatch, written: float | None) -> "Batch":
        """Return the batch of a request; a recipe in grams is its own.

        Raises
        ------
        InvalidRequest
            A balance is told and no mass.
        """
        grams = request.batch_grams or written
        if request.balance_step is not None and grams is None:
            raise InvalidRequest(
                "A balance weighs grams, and nobody told how many.",
                [Fault("/balance_step", "needs a batch", "give batch_grams, or the recipe in grams")],
            )
        return cls(grams, request.balance_step)

    @property
    def step_percent(self) -> float:
        """One step of the balance [% of the batch]; 0 where either is not known.

        Examples
        --------
        >>> Batch(250.0, 0.5).step_percent, Batch().step_percent
        (0.2, 0.0)
        """
        return 100 * self.step / self.grams if self.step and self.grams else 0.0

    def of_percent(self, percent: float) -> float | None:
        """Return what a percent of the recipe weighs, in whole steps of the balance [g].

        Examples
        --------
        >>> Batch(250.0, 0.1).of_percent(3.27), Batch().of_percent(3.27)
        (8.2, None)
        """
        if self.grams is None:
            return None
        grams = percent * self.grams / 100
        return round(grams, 4) if self.step is None else of_steps(round(grams / self.step), self.step)


NO_BATCH = Batch()
