"""The dose that two readings of a pH ask for."""

from typing import Literal

from advisor.errors import Fault, InvalidRequest
from advisor.frozen import dataclass
from advisor.rulebook.acidity import DoseRules

_SAME = 1e-9


@dataclass(frozen=True, slots=True)
class NextDose:
    """What two readings ask for, in the unit of the trial dose.

    ``dose`` is what is still to add, 0 where the target is passed; ``whole`` what the straight line asks for
    to the target; ``capped`` why ``dose`` is less: one step of pH, or a few times the trial dose;
    ``reaches_ph`` is where it leads by the straight line.
    """

    dose: float
    whole: float
    capped: Literal["step", "trial"] | None
    state: Literal["add", "passed", "away"]
    reaches_ph: float


def next_dose(first_ph: float, dose: float, second_ph: float, target_ph: float, rules: DoseRules) -> NextDose:
    """Return the dose still to add after a trial dose, by the line through two readings.

    Parameters
    ----------
    first_ph, second_ph : float
        pH before and after the trial dose.
    dose : float
        Trial dose, any unit.
    target_ph : float
        pH wanted.
    rules : DoseRules
        Share to add first, largest step, smallest shift a line is drawn from.

    Raises
    ------
    InvalidRequest
        The trial dose moved the pH too little to draw a line.

    Examples
    --------
    >>> rules = DoseRules(first_share_low=0.7, first_share_high=0.8, step_at_most=0.7, smallest_shift=0.3,
    ...     trials_at_most=3.0, basis="practice", source="bench")
    >>> found = next_dose(7.4, 1.0, 6.4, 5.9, rules)
    >>> round(found.dose, 3), found.capped
    (0.5, None)
    >>> found = next_dose(7.4, 1.0, 6.4, 5.2, rules)
    >>> round(found.dose, 3), found.capped
    (0.7, 'step')
    """
    shift = first_ph - second_ph
    if abs(shift) < rules.smallest_shift - _SAME:
        problem = f"the trial dose moved the pH by {abs(shift):.2f}, less than {rules.smallest_shift:g}"
        raise InvalidRequest(
            f"No line can be drawn: {problem}. Take a larger trial dose.",
            [Fault("/second_ph", problem, "take a larger trial dose")],
        )
    missing = second_ph - target_ph
    if missing * shift <= 0:
        started_wrong = (first_ph - target_ph) * shift < 0
        return NextDose(0.0, 0.0, None, "away" if started_wrong else "passed", second_ph)
    whole = dose * missing / shift
    most = {"step": dose * rules.step_at_most / abs(shift), "trial": dose * rules.trials_at_most}
    why: Literal["step", "trial"] = "step" if most["step"] <= most["trial"] else "trial"
    if whole <= most[why] + _SAME * dose:
        return NextDose(whole, whole, None, "add", target_ph)
    return NextDose(most[why], whole, why, "add", second_ph - most[why] * shift / dose)
