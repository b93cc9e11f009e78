"""Fits a drying curve to the weighings of one bar."""

import math
from collections.abc import Sequence
from importlib.util import find_spec

import numpy as np
from numpy.typing import NDArray

from advisor.drying.curve import NUDGE, WIDEST, DryingCurve
from advisor.errors import Fault, InvalidRequest, NotInstalled
from advisor.frozen import dataclass
from advisor.rulebook.drying import FitRules

Vector = NDArray[np.float64]
_LN_K_BOUNDS = (-40.0, 10.0)
_LN_N_BOUNDS = (-2.0, 2.0)
_TRIES_AT_MOST = 300
_HARDLY_MORE = 1.0001


def fit_drying(
    hours: Sequence[float],
    grams: Sequence[float],
    rules: FitRules,
    *,
    final_grams: float | None = None,
    final_between: tuple[float, float] | None = None,
) -> DryingCurve:
    """Fit Page's curve and the one-term exponential by least squares, and choose one.

    Parameters
    ----------
    hours, grams : sequence of float
        Weighings of one bar, at least three, with rising hours; the first is the start.
    rules : FitRules
        Least number of weighings, interval, assumed scatter.
    final_grams : float, optional
        Weight in balance with the room [g]; fitted when absent.
    final_between : pair of float, optional
        Between which weights [g] the final one is sought when it is not given.

    Returns
    -------
    DryingCurve
        Page's curve where its exponent is shown by the weighings, else the exponential.

    Raises
    ------
    InvalidRequest
        Too few weighings, hours that do not rise, or a bar that does not lose weight.
    NotInstalled
        SciPy is missing (extra "fit").

    Notes
    -----
    With a weight for the start and one parameter for each other weighing there is no scatter left to see;
    then the scatter of the rules is assumed, and ``scatter_assumed`` says so. Intervals are of Student's t on
    the logarithms of k and n, and never wider than a factor of a thousand to either side.

    References
    ----------
    G. E. Page, M.S. thesis, Purdue University (1949), the exponent on time.
    """
    need_scipy()
    _judge(hours, grams, rules, final_grams)
    times = np.asarray(hours[1:], dtype=float) - hours[0]
    lost = grams[0] - np.asarray(grams[1:], dtype=float)
    free_final = final_grams is None
    bounds = _loss_bounds(grams, final_grams, final_between)
    exponential = _least_squares(times, lost, bounds, exponent=1.0)
    page = _least_squares(times, lost, bounds) if len(times) >= 2 + 2 * free_final else None
    chosen = (
        page
        if page is not None and _worse(exponential.squares - page.squares, page, len(times), rules)
        else exponential
    )
    return _curve(chosen, grams, times, lost, free_final, rules)


def curves_not_ruled_out(
    hours: Sequence[float],
    grams: Sequence[float],
    rules: FitRules,
    *,
    final_grams: float | None = None,
    final_between: tuple[float, float] | None = None,
) -> tuple[DryingCurve, ...]:
    """Return the fitted curve, and those of other exponents that the weighings do not rule out.

    Parameters and errors are those of ``fit_drying``.
    """
    chosen = fit_drying(hours, grams, rules, final_grams=final_grams, final_between=final_between)
    times = np.asarray(hours[1:], dtype=float) - hours[0]
    lost = grams[0] - np.asarray(grams[1:], dtype=float)
    bounds = _loss_bounds(grams, final_grams, final_between)
    fits = [_least_squares(times, lost, bounds, exponent=exponent) for exponent in rules.exponents]
    squares = (chosen.rmse * (chosen.start_grams - chosen.final_grams)) ** 2 * len(grams)
    rivals = (fit for fit in fits if not _worse(fit.squares - squares, fit, len(times), rules))
    return (chosen, *(_curve(fit, grams, times, lost, final_grams is None, rules) for fit in rivals))


def need_scipy() -> None:
    """Refuse to go on without SciPy.

    Raises
    ------
    NotInstalled
    """
    if find_spec("scipy") is None:
        raise NotInstalled.of("A drying curve", "fit", extra="fit")


def _judge(
    hours: Sequence[float], grams: Sequence[float], rules: FitRules, final_grams: float | None
) -> None:
    if len(hours) < rules.least_weighings:
        raise _wrong("/weighings", f"{len(hours)} weighings; a curve needs {rules.least_weighings} or more")
    for position in range(1, len(hours)):
        if hours[position] <= hours[position - 1]:
            raise _wrong(f"/weighings/{position}/hours", "hours must rise from one weighing to the next")
    _judge_pace(hours, grams, rules)
    if grams[-1] >= grams[0]:
        raise _wrong(f"/weighings/{len(grams) - 1}/grams", "the bar has lost no weight")
    if final_grams is not None and final_grams >= grams[0]:
        raise _wrong("/final_grams", "the final weight must be below the first weighing")
    lightest = min(grams)
    if final_grams is not None and final_grams - lightest > rules.final_slack * (grams[0] - lightest):
        raise _wrong(
            "/final_grams", f"the bar has already weighed {lightest:g} g, less than the final weight"
        )


def _judge_pace(hours: Sequence[float], grams: Sequence[float], rules: FitRules) -> None:
    """Refuse a weighing that rises, or a loss that is faster than the one before it.

    Raises
    ------
    InvalidRequest
    """
    noise = rules.rise_at_most * grams[0]
    pace = 0.0
    for at in range(1, len(hours)):
        lost, took = grams[at - 1] - grams[at], hours[at] - hours[at - 1]
        where, named = f"/weighings/{at}/grams", f"{grams[at]:g} g at {hours[at]:g} h"
        if lost < -noise:
            raise _wrong(where, f"{named} is more than the {grams[at - 1]:g} g before; is it the same bar?")
        if at > 1 and lost > rules.accelerates_at_most * pace * took + noise:
            raise _wrong(where, f"{named} is a faster loss than before; is it the same bar and balance?")
        pace = (max(lost, 0.0) + noise / 2) / took


def _wrong(where: str, problem: str) -> InvalidRequest:
    stop = "" if problem.endswith("?") else "."
    return InvalidRequest(f"The weighings cannot be fitted: {problem}{stop}", [Fault(where, problem)])


def _loss_bounds(
    grams: Sequence[float], final_grams: float | None, between: tuple[float, float] | None
) -> tuple[float, float]:
    """Return the least and the greatest loss [g] that is sought; equal where the final weight is given."""
    if final_grams is not None:
        return grams[0] - final_grams, grams[0] - final_grams
    least = max(grams[0] - weight for weight in grams) * 0.98
    if between is None:
        return least, max(least * 1.05, grams[0])
    low = max(least, grams[0] - between[1])
    return low, max(low * _HARDLY_MORE, grams[0] - between[0])


@dataclass(frozen=True, slots=True)
class _Fitted:
    ln_k: float
    ln_n: float
    loss: float
    squares: float
    jacobian: Vector
    free: tuple[int, ...]
    at_bound: bool


def _least_squares(
    times: Vector, lost: Vector, bounds: tuple[float, float], *, exponent: float | None = None
) -> _Fitted:
    """Fit a curve of an exponent that is given, or of one that is fitted too."""
    from scipy.optimize import least_squares

    fixed_loss = bounds[0] == bounds[1]
    loss = bounds[0] if fixed_loss else min(bounds[1], max(bounds[0], float(lost.max()) * 1.05))
    start_ln_k, start_ln_n = _start(times, np.clip(1 - lost / loss, 1e-3, 1 - 1e-3), exponent)
    free = [0, *([1] if exponent is None else []), *([] if fixed_loss else [2])]
    start = np.array([start_ln_k, start_ln_n, loss])
    lower = np.array([_LN_K_BOUNDS[0], _LN_N_BOUNDS[0], bounds[0]])
    upper = np.array([_LN_K_BOUNDS[1], _LN_N_BOUNDS[1], bounds[1]])

    def whole(values: Vector) -> Vector:
        every = start.copy()
        every[free] = values
        return every

    def residuals(values: Vector) -> Vector:
        every = whole(values)
        return np.asarray(every[2] * (1 - _left(times, every)) - lost, dtype=float)

    def jacobian(values: Vector) -> Vector:
        every = whole(values)
        left = _left(times, every)
        power = np.exp(every[0]) * times ** np.exp(every[1])
        slope = every[2] * left * power
        columns = np.column_stack([slope, slope * np.log(times) * np.exp(every[1]), 1 - left])
        return np.asarray(columns[:, free], dtype=float)

    found = least_squares(
        residuals,
        np.clip(start[free], lower[free] + 1e-9, upper[free] - 1e-9),
        jac=jacobian,
        bounds=(lower[free], upper[free]),
        x_scale="jac",
        ftol=1e-15,
        xtol=1e-15,
        gtol=1e-15,
        max_nfev=_TRIES_AT_MOST,
    )
    every = whole(found.x)
    at_bound = not fixed_loss and bool(found.active_mask[-1])
    return _Fitted(
        ln_k=float(every[0]),
        ln_n=float(every[1]),
        loss=float(every[2]),
        squares=float(residuals(found.x) @ residuals(found.x)),
        jacobian=jacobian(found.x),
        free=tuple(free),
        at_bound=at_bound,
    )


def _left(times: Vector, every: Vector) -> Vector:
    return np.asarray(np.exp(-np.exp(every[0]) * times ** np.exp(every[1])), dtype=float)


def _start(times: Vector, ratio: Vector, exponent: float | None) -> tuple[float, float]:
    doubled = np.log(-np.log(ratio))
    if exponent is None:
        slope = float(np.polyfit(np.log(times), doubled, 1)[0]) if len(times) > 1 else 1.0
        exponent = min(max(slope, 0.3), 3.0)
    return float(np.mean(doubled - exponent * np.log(times))), math.log(exponent)


def _worse(by: float, fitted: _Fitted, count: int, rules: FitRules) -> bool:
    """Tell whether a sum of squares is more than chance: an F test, without scatter to see a normal one."""
    from scipy.special import fdtri, gammaincinv

    degrees = count - len(fitted.free)
    if degrees > 0:
        variance = max(fitted.squares / degrees, (1e-9 * fitted.loss) ** 2)
        return by / variance > float(fdtri(1, degrees, rules.simpler_unless))
    return by / (rules.scatter * fitted.loss) ** 2 > 2 * float(gammaincinv(0.5, rules.simpler_unless))


def _curve(
    fitted: _Fitted,
    grams: Sequence[float],
    times: Vector,
    lost: Vector,
    final_fitted: bool,
    rules: FitRules,
) -> DryingCurve:
    from scipy.special import ndtri, stdtrit

    degrees = len(times) - len(fitted.free)
    variance = fitted.squares / degrees if degrees > 0 else (rules.scatter * fitted.loss) ** 2
    tail = (1 + rules.interval) / 2
    quantile = float(stdtrit(degrees, tail)) if degrees > 0 else float(ndtri(tail))
    spread = _covariance(fitted, variance)
    ratios = np.concatenate([[1.0], 1 - lost / fitted.loss])
    total = float(((ratios - ratios.mean()) ** 2).sum())
    squares = fitted.squares / fitted.loss**2
    return DryingCurve(
        model="page" if 1 in fitted.free else "exponential",
        start_grams=grams[0],
        final_grams=grams[0] - fitted.loss,
        k=math.exp(fitted.ln_k),
        n=math.exp(fitted.ln_n),
        rmse=math.sqrt(squares / len(ratios)),
        r2=1 - squares / total,
        spread=tuple(tuple(float(value) for value in row) for row in spread),
        quantile=quantile,
        final_fitted=final_fitted,
        final_at_bound=fitted.at_bound,
        scatter_assumed=degrees <= 0,
    )


def _covariance(fitted: _Fitted, variance: float) -> Vector:
    """Return the covariance of ln k, ln n and the loss; what the weighings do not touch is wide open."""
    spread = np.zeros((3, 3))
    sizes = np.linalg.norm(fitted.jacobian, axis=0)
    free = [(place, name) for place, name in enumerate(fitted.free) if not (name == 2 and fitted.at_bound)]
    felt = [
        (place, name) for place, name in free if sizes[place] > (0.0 if name == 2 else NUDGE * fitted.loss)
    ]
    for place, name in free:
        if (place, name) not in felt:
            spread[name, name] = WIDEST**2
    if felt:
        places, names = [place for place, _ in felt], [name for _, name in felt]
        scaled = fitted.jacobian[:, places] / sizes[places]
        inverse = np.linalg.pinv(scaled.T @ scaled) / np.outer(sizes[places], sizes[places])
        spread[np.ix_(names, names)] = inverse * variance
    return spread
