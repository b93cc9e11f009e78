"""The pH call: request and answer."""

from typing import Annotated, Literal

from pydantic import Field

from advisor.schema.base import PH, Asked, Grams, Percent
from advisor.schema.findings import Answer

Dose = Annotated[float, Field(strict=True, allow_inf_nan=False, gt=0, le=1_000_000)]


class DoseRequest(Asked):
    """Two readings around a trial dose, the pH wanted, and the dispersion they were read in [%].

    Where both masses are given the dose counts as grams on the dough of the test and is scaled to the batch.
    """

    first_ph: PH
    dose: Dose
    second_ph: PH
    target_ph: PH
    test_percent: Percent
    test_dough_grams: Grams | None = None
    batch_grams: Grams | None = None


class DoseAnswer(Answer):
    """The dose still to add, in the unit of the trial dose.

    ``first_dose`` is ``share_to_add_first`` of it; ``reaches_ph`` where the whole leads by the straight line;
    ``batch_dose`` and ``batch_trial_dose`` [g] are what the batch needs, and what the trial dose is for it.
    """

    next_dose: float
    share_to_add_first: float
    first_dose: float
    capped: bool
    state: Literal["add", "passed", "away"]
    reaches_ph: float
    test_percent: float
    batch_dose: float | None
    batch_trial_dose: float | None
