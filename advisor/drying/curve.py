"""A bar losing water: its curve, and the time until it is dry."""

import math
from collections.abc import Callable
from typing import Literal

import numpy as np

from advisor.frozen import dataclass, replace

HOURS_PER_DAY = 24.0
NUDGE = 1e-5
WIDEST = math.log(1000.0)


@dataclass(frozen=True, slots=True)
class Interval:
    """A typical value between a low and a high one, in the unit of the value."""

    low: float
    typical: float
    high: float


@dataclass(frozen=True, slots=True)
class DryingCurve:
    """A bar losing water: ``grams = final + (start - final) * exp(-k * hours ** n)``.

    Hours count from the first weighing. ``k`` in hours to the power of minus ``n``; n is 1 for the one-term
    exponential. ``rmse`` is in the moisture ratio (0..1). ``spread`` is the covariance of the fitted
    parameters (ln k, ln n, grams that leave), zero for those that were given, and ``quantile`` how many
    standard deviations the interval reaches to either side.
    """

    model: Literal["page", "exponential"]
    start_grams: float
    final_grams: float
    k: float
    n: float
    rmse: float
    r2: float
    spread: tuple[tuple[float, ...], ...]
    quantile: float
    final_fitted: bool
    final_at_bound: bool
    scatter_assumed: bool

    def grams_at(self, hours: float) -> float:
        """Return the weight [g] after a time [h]."""
        leaving = self.start_grams - self.final_grams
        return self.final_grams + leaving * math.exp(-self.k * hours**self.n)

    def grams_between(self, hours: float) -> tuple[float, float]:
        """Return between which weights [g] the fitted curve lies after a time [h]."""
        leaving, power = self.start_grams - self.final_grams, self.k * hours**self.n
        left = math.exp(-power)
        by_ln_k = -leaving * power * left
        by_ln_n = by_ln_k * self.n * math.log(hours) if hours > 0 else 0.0
        slopes = np.array([by_ln_k, by_ln_n, left - 1.0])
        variance = max(float(slopes @ np.array(self.spread) @ slopes), 0.0)
        reach, typical = self.quantile * math.sqrt(variance), self.grams_at(hours)
        return typical - reach, typical + reach

    def k_interval(self) -> Interval:
        """Return k with its interval."""
        return self._interval(self.k, self.spread[0][0])

    def n_interval(self) -> Interval:
        """Return n with its interval."""
        return self._interval(self.n, self.spread[1][1])

    def _interval(self, value: float, variance: float) -> Interval:
        reach = math.exp(min(WIDEST, self.quantile * math.sqrt(max(variance, 0.0))))
        return Interval(value / reach, value, value * reach)


def hours_to_dry(curve: DryingCurve, loss_percent_per_day: float) -> Interval:
    """Return the hours until a bar loses less than a percent of its weight a day, and stays below.

    Examples
    --------
    >>> curve = DryingCurve("exponential", 100.0, 85.0, 0.02, 1.0, 0.0, 1.0, ((0.0,) * 3,) * 3, 1.28,
    ...     False, False, False)
    >>> round(hours_to_dry(curve, 0.2).typical, 1)
    187.0
    """
    typical = _dry_hours(curve, loss_percent_per_day)
    if typical <= 0:
        return Interval(0.0, 0.0, 0.0)
    slopes = np.array([_slope(curve, position, loss_percent_per_day) for position in range(3)])
    variance = max(float(slopes @ np.array(curve.spread) @ slopes), 0.0)
    reach = min(WIDEST, curve.quantile * math.sqrt(variance))
    return Interval(typical * math.exp(-reach), typical, typical * math.exp(reach))


def _dry_hours(curve: DryingCurve, limit: float) -> float:
    leaving = curve.start_grams - curve.final_grams

    def too_fast(hours: float) -> float:
        rate = leaving * curve.k * curve.n * hours ** (curve.n - 1) * math.exp(-curve.k * hours**curve.n)
        return float(100 * rate * HOURS_PER_DAY / curve.grams_at(hours) - limit)

    fastest = ((curve.n - 1) / (curve.k * curve.n)) ** (1 / curve.n) if curve.n > 1 else NUDGE
    return last_crossing(too_fast, max(fastest, NUDGE))


def last_crossing(too_fast: Callable[[float], float], fastest: float) -> float:
    """Return where a rate that falls after ``fastest`` falls through its limit; 0 where it is below there."""
    from scipy.optimize import brentq

    if too_fast(fastest) <= 0:
        return 0.0
    late = max(2 * fastest, 1.0)
    while too_fast(late) > 0:
        late *= 2
    return float(brentq(too_fast, fastest, late, xtol=1e-9, rtol=1e-12))


def _slope(curve: DryingCurve, position: int, limit: float) -> float:
    """Return the derivative of ln hours by one fitted parameter."""
    if not curve.spread[position][position]:
        return 0.0

    def moved(step: float) -> float:
        if position == 0:
            changed = replace(curve, k=curve.k * math.exp(step))
        elif position == 1:
            changed = replace(curve, n=curve.n * math.exp(step))
        else:
            changed = replace(curve, final_grams=curve.final_grams - step)
        return math.log(max(_dry_hours(changed, limit), NUDGE))

    return (moved(NUDGE) - moved(-NUDGE)) / (2 * NUDGE)
