"""How far ahead weighings can see, and the general range of days beyond."""

from collections.abc import Sequence

from advisor.drying.curve import DryingCurve, Interval, hours_to_dry
from advisor.drying.diffusion import first_guess
from advisor.frozen import dataclass
from advisor.recipe.request import Formula
from advisor.rulebook.drying import DryingRules
from advisor.schema.drying import BarBody


@dataclass(frozen=True, slots=True)
class Forecast:
    """Hours until a bar is dry, and whether they rest on its own weighings."""

    hours: Interval
    own: bool
    too_short: bool = False


def forecast(
    curves: Sequence[DryingCurve],
    observed: float,
    formula: Formula | None,
    body: BarBody | None,
    rules: DryingRules,
) -> Forecast:
    """Return when a bar is dry.

    The interval covers the choice of the curve. Weighings over less than a day foretell nothing, longer ones
    three times what they observed; beyond that the general range stands, from where the weighings end.

    Parameters
    ----------
    curves : sequence of DryingCurve
        The fitted curve, and others the weighings do not rule out.
    observed : float
        What the weighings span [h].
    formula, body : optional
        What is known of the bar.
    rules : DryingRules
    """
    found = [hours_to_dry(curve, rules.dry.loss_percent_per_day) for curve in curves]
    own = Interval(min(one.low for one in found), found[0].typical, max(one.high for one in found))
    too_short = observed < rules.fit.least_hours
    if not too_short and own.typical <= rules.fit.times_observed * observed:
        return Forecast(own, own=True)
    _, general, _ = first_guess(
        body.shape if body else "slab",
        (body.thickness_mm if body else rules.diffusion.thickness_mm) / 2,
        leaving(formula, rules),
        rules,
    )
    later = Interval(*(max(end, observed) for end in (general.low, general.typical, general.high)))
    return Forecast(later, own=False, too_short=too_short)


def leaving(formula: Formula | None, rules: DryingRules) -> Interval:
    """Return how much water leaves [% of the fresh bar]: by the recipe, else what is usual."""
    if formula is None:
        of = rules.diffusion
        return Interval(of.leaving_low_percent, of.leaving_typical_percent, of.leaving_high_percent)
    low, typical, high = (
        100 - (formula.measures.mass_left(end).of(formula.amounts) or 100.0)
        for end in ("low", "typical", "high")
    )
    return Interval(low, typical, high)
