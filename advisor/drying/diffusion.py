"""A first guess of drying before any weighing, from diffusion in a simple body."""

import math
from collections.abc import Callable
from typing import Literal

import numpy as np

from advisor.drying.curve import HOURS_PER_DAY, Interval, last_crossing
from advisor.drying.fit import Vector, need_scipy
from advisor.rulebook.drying import DiffusionRules, DryingRules

Shape = Literal["slab", "cylinder", "sphere"]
_SECONDS_PER_HOUR = 3600.0


def first_guess(
    shape: Shape,
    half_thickness_mm: float,
    leaving_percent: Interval,
    rules: DryingRules,
) -> tuple[Interval, Interval, Callable[[float, float], float]]:
    """Return an estimate of drying before any weighing, from diffusion in a simple body.

    Parameters
    ----------
    shape : "slab" | "cylinder" | "sphere"
        A slab dries from both faces, a long cylinder from its mantle.
    half_thickness_mm : float
        Half the thickness of the slab, or the radius [mm].
    leaving_percent : Interval
        Water that leaves [% of the fresh bar].
    rules : DryingRules
        Diffusion coefficients and when a bar is called dry.

    Returns
    -------
    rate : Interval
        Rate of the slowest term [1/h].
    hours : Interval
        Hours until the daily loss is below the limit.
    left : callable
        Share of the leaving water still inside, of (hours, diffusion coefficient [m2/s]).

    Raises
    ------
    NotInstalled
        SciPy is missing (extra "fit").

    Notes
    -----
    The coefficients are an estimate over a factor of five; the answer is one too.

    References
    ----------
    J. Crank, The Mathematics of Diffusion, 2nd ed. (1975), sections 4.3, 5.3 and 6.3.
    """
    need_scipy()
    weights, roots = _series(shape, rules.diffusion)
    length = half_thickness_mm / 1000

    def rates(diffusion: float) -> Vector:
        return roots**2 * diffusion / length**2 * _SECONDS_PER_HOUR

    def left(hours: float, diffusion: float) -> float:
        return float(weights @ np.exp(-rates(diffusion) * hours))

    def dry_at(diffusion: float, leaving: float) -> float:
        terms = weights * rates(diffusion)

        def too_fast(hours: float) -> float:
            loss = leaving * float(terms @ np.exp(-rates(diffusion) * hours)) * HOURS_PER_DAY
            weight = 100 - leaving * (1 - left(hours, diffusion))
            return 100 * loss / weight - rules.dry.loss_percent_per_day

        return last_crossing(too_fast, 0.0)

    spread = rules.diffusion
    rate = Interval(*(float(rates(value)[0]) for value in (spread.low, spread.typical, spread.high)))
    hours = Interval(
        dry_at(spread.high, leaving_percent.low),
        dry_at(spread.typical, leaving_percent.typical),
        dry_at(spread.low, leaving_percent.high),
    )
    return rate, hours, left


def _series(shape: Shape, rules: DiffusionRules) -> tuple[Vector, Vector]:
    """Return weights and roots of the series of a body; the last term stands for all that follow."""
    from scipy.special import jn_zeros

    order = np.arange(1, rules.terms + 1, dtype=float)
    if shape == "slab":
        roots = (order - 0.5) * math.pi
        weights = 2 / roots**2
    elif shape == "cylinder":
        roots = np.asarray(jn_zeros(0, rules.terms), dtype=float)
        weights = 4 / roots**2
    else:
        roots = order * math.pi
        weights = 6 / roots**2
    weights[-1] += 1 - weights.sum()
    return np.asarray(weights, dtype=float), np.asarray(roots, dtype=float)
