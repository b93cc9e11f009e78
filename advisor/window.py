"""The one place of what past doughs teach: where the workable window lies and how much each powder drinks.

Every judged dough says on which side of the window it lay. Its wetting index, the powders in it and that
verdict are the evidence of an ordinal regression with logistic errors, held by a normal prior.

    P(class <= k) = F((tau_k - eta) / s),    eta = ln W - c - sum over powders of share * delta

``c`` is the centre of the window on the scale of ln W (0 where the library is right), ``delta`` the logarithm
of a powder's true demand over the library's, F the logistic function. A key of ``shares`` need not be a
powder: whatever shifts the window alike and is partly pooled (a method, a lot beside its powder) enters as a
key with a share and a standard deviation of its own.

References
----------
P. McCullagh, Regression models for ordinal data, J. R. Statist. Soc. B 42 (1980) 109-142 (the model).
R. T. Birge, Phys. Rev. 40 (1932) 207-227 (a scatter above chance widens the interval by its square root).
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import chain, pairwise
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

Vector = NDArray[np.float64]

_CONVERGED = 1e-12
_ROUNDING = 1e-13
_STEPS_AT_MOST = 200
_SPREADS_TRIED = 13
_GREATEST_SLOPE = 0.25
_NORMAL_NODES = np.linspace(-6.5, 6.5, 27)
_NORMAL_MASSES = np.exp(-0.5 * _NORMAL_NODES**2) / np.exp(-0.5 * _NORMAL_NODES**2).sum()
_LOGISTIC_NODES = np.linspace(-24.0, 24.0, 65)
_LOGISTIC_MASSES = np.cosh(_LOGISTIC_NODES / 2) ** -2 / (np.cosh(_LOGISTIC_NODES / 2) ** -2).sum()


@dataclass(frozen=True, slots=True)
class Dough:
    """One judged dough as evidence.

    Parameters
    ----------
    log_index : float
        ln W, with the library's uptakes [-].
    shares : mapping of str to float
        Share of each powder in the demand for liquid, a p x / sum of a p x, 0 or more [-].
    outcome : int
        The class it was judged: 1 (driest) .. number of thresholds + 1 (wettest).
    weight : float
        How much it counts, 0..1 [-].
    width : float
        Factor on the borders of the classes for a dough of these powders, above 0 [-].

    Examples
    --------
    >>> Dough(log_index=0.05, shares={"kaolin": 0.3, "isethionate": 0.7}, outcome=6).weight
    1.0
    """

    log_index: float
    shares: Mapping[str, float]
    outcome: int
    weight: float = 1.0
    width: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Prior:
    """What is believed before any dough.

    Parameters
    ----------
    thresholds : tuple of float
        Borders of the ordered classes on ln(W/c), ascending [-].
    spread : float
        Scale s of the logistic error of one judgement on ln W, above 0 [-].
    centre : float
        Mean of c, 0 where the library's uptakes are believed [-].
    centre_sd : float
        Standard deviation of c, above 0 [-].
    demand_sds : mapping of str to float
        Relative standard deviation of each powder's demand [-]; a powder not named, or with 0, has none.
    demand_means : mapping of str to float
        Mean of ln(demand / library's demand) where a bench test has measured it [-]; a powder not named
        has 0.

    Raises
    ------
    ValueError
        If the thresholds do not ascend, or a scale is not a finite number of the right sign.

    Examples
    --------
    >>> Prior(thresholds=(-0.1, 0.1), spread=0.0, centre_sd=0.2, demand_sds={})
    Traceback (most recent call last):
    ...
    ValueError: spread and centre_sd must be finite and above 0, demand_sds finite and not below 0
    """

    thresholds: tuple[float, ...]
    spread: float
    centre: float = 0.0
    centre_sd: float
    demand_sds: Mapping[str, float]
    demand_means: Mapping[str, float] = field(default_factory=dict)

    def __post_init__(self) -> None:
        """Refuse figures that no prior can have."""
        tau = self.thresholds
        if not tau or not all(map(math.isfinite, tau)) or any(b <= a for a, b in pairwise(tau)):
            raise ValueError("thresholds must be finite and ascend")
        sds = self.demand_sds.values()
        scales = (self.spread, self.centre_sd)
        if not all(0 < x < math.inf for x in scales) or not all(0 <= x < math.inf for x in sds):
            raise ValueError(
                "spread and centre_sd must be finite and above 0, demand_sds finite and not below 0"
            )
        if not all(map(math.isfinite, (self.centre, *self.demand_means.values()))):
            raise ValueError("centre and demand_means must be finite")
        if any(not self.demand_sds.get(powder) for powder in self.demand_means):
            raise ValueError("a powder in demand_means needs a standard deviation above 0 in demand_sds")


@dataclass(frozen=True, slots=True)
class LearningRules:
    """When doughs that disagree are doubted.

    Parameters
    ----------
    outlier_doughs : int
        Fewest doughs among which one can be called an outlier, 2 or more.
    outlier_chance : float
        A dough is an outlier where a verdict at least as extreme had less than this chance, 0..0.5 [-].
    outlier_share : float
        Largest share of the doughs that may be set aside as outliers, 0..0.5 [-]; with more, all are obeyed
        and the contradiction shows in the dispersion.
    dispersion_doughs : int
        Fewest doughs from which a scatter can be told, 2 or more.
    dispersion_excess : float
        The interval widens where the scatter exceeds what the model expects by more than this many of its
        own standard deviations, 0 or more [-].
    spread_doughs : int
        Fewest doughs from which the spread of judgements is chosen by their evidence, 2 or more.

    Raises
    ------
    ValueError
        If a figure is out of its range; a single dough is always obeyed.

    Examples
    --------
    >>> LearningRules(
    ...     outlier_doughs=4,
    ...     outlier_chance=0.005,
    ...     outlier_share=0.2,
    ...     dispersion_doughs=6,
    ...     dispersion_excess=1.5,
    ...     spread_doughs=20,
    ... ).spread_doughs
    20
    """

    outlier_doughs: int
    outlier_chance: float
    outlier_share: float
    dispersion_doughs: int
    dispersion_excess: float
    spread_doughs: int

    def __post_init__(self) -> None:
        """Refuse rules that would doubt a single dough or most of the doughs."""
        if min(self.outlier_doughs, self.dispersion_doughs, self.spread_doughs) < 2:
            raise ValueError("outlier_doughs, dispersion_doughs and spread_doughs must be 2 or more")
        if not (
            0 <= self.outlier_chance <= 0.5 and 0 <= self.outlier_share <= 0.5 and self.dispersion_excess >= 0
        ):
            raise ValueError("outlier_chance and outlier_share must be 0..0.5, dispersion_excess 0 or more")


@dataclass(frozen=True, eq=False)
class Window:
    """What is believed after the doughs.

    Parameters
    ----------
    prior : Prior
        What was believed before.
    powders : tuple of str
        Powders whose demand some dough speaks of, sorted.
    mean : array
        The mode: c, then delta of each powder [-].
    covariance : array
        Laplace covariance of the same; not widened.
    support : mapping of str to int
        How many doughs carry each powder.
    objective : float
        Minus the log posterior at the mode, without the constants of the normal densities.
    dispersion : float
        Scatter of the obeyed doughs over what the model expects, per residual degree of freedom; 1 where it
        was not told [-].
    widening : float
        Factor on the standard deviation of what was learned, 1 or the square root of the dispersion [-].
    outliers : tuple of int
        Places, in the sequence given, of the doughs that fit ill to the rest.
    set_aside : bool
        Whether the outliers were left out of the fit; if not, they were too many to be accidents.
    evidence, obeyed : optional
        The doughs it rests on, outliers among them, and the mode if all were obeyed: ``learn_more`` goes on
        from there.
    """

    prior: Prior
    powders: tuple[str, ...]
    mean: Vector
    covariance: Vector
    support: Mapping[str, int]
    objective: float
    dispersion: float = 1.0
    widening: float = 1.0
    outliers: tuple[int, ...] = ()
    set_aside: bool = False
    evidence: "_Evidence | None" = field(default=None, repr=False)
    obeyed: Vector | None = field(default=None, repr=False)

    @property
    def widened(self) -> bool:
        """Whether the doughs contradict each other so much that the interval was widened."""
        return self.widening > 1.0

    def centre(self, shares: Mapping[str, float]) -> tuple[float, float]:
        """Return where a dough with these powders is workable.

        Parameters
        ----------
        shares : mapping of str to float
            Share of each powder in the demand for liquid [-]. A powder no dough carried has its prior.

        Returns
        -------
        mean, sd : float
            Of ln W at the centre of the window [-]. However much the doughs contradict each other, the
            standard deviation is never above what it was before them.

        Examples
        --------
        >>> prior = Prior(thresholds=(-0.035, 0.035), spread=0.03, centre_sd=0.2, demand_sds={"starch": 0.3})
        >>> learn([], prior).centre({"starch": 0.5})
        (0.0, 0.25)
        """
        learned = np.array([1.0, *(shares.get(powder, 0.0) for powder in self.powders)])
        mean = float(learned @ self.mean)
        variance = self._variance(learned)
        for powder, share in shares.items():
            if powder not in self.support:
                mean += share * self.prior.demand_means.get(powder, 0.0)
                variance += (share * self.prior.demand_sds.get(powder, 0.0)) ** 2
        return mean, math.sqrt(variance)

    def interval(self, shares: Mapping[str, float], level: float) -> tuple[float, float]:
        """Return the central interval of ln W at the centre of the window.

        Parameters
        ----------
        shares : mapping of str to float
            Share of each powder in the demand for liquid [-].
        level : float
            Chance that the centre is inside, above 0 and below 1 [-].

        Returns
        -------
        low, high : float
            On ln W [-].

        Examples
        --------
        >>> prior = Prior(thresholds=(-0.035, 0.035), spread=0.03, centre_sd=0.2, demand_sds={})
        >>> [round(end, 4) for end in learn([], prior).interval({}, 0.8)]
        [-0.2563, 0.2563]
        """
        belief = NormalDist(*self.centre(shares))
        return belief.inv_cdf((1 - level) / 2), belief.inv_cdf((1 + level) / 2)

    def demand(self, powder: str) -> tuple[float, float]:
        """Return mean and standard deviation of ln(demand of a powder / library's demand).

        Examples
        --------
        >>> prior = Prior(thresholds=(-0.035, 0.035), spread=0.03, centre_sd=0.2, demand_sds={"starch": 0.3})
        >>> learn([], prior).demand("starch")
        (0.0, 0.3)
        """
        if powder not in self.support:
            return self.prior.demand_means.get(powder, 0.0), self.prior.demand_sds.get(powder, 0.0)
        place = np.array([0.0, *(float(other == powder) for other in self.powders)])
        return float(place @ self.mean), math.sqrt(self._variance(place))

    def taught(self, shares: Mapping[str, float]) -> float:
        """Return how much of what was unsure of the centre the doughs took away, 0 (nothing) to 1 [-].

        Parameters
        ----------
        shares : mapping of str to float
            Share of each powder in the demand for liquid [-].

        Examples
        --------
        >>> prior = Prior(thresholds=(-0.035, 0.035), spread=0.03, centre_sd=0.2, demand_sds={"starch": 0.3})
        >>> window = learn([Dough(0.1, {}, 2)], prior)
        >>> round(window.taught({}), 2), round(window.taught({"starch": 1.0}), 2)
        (0.94, 0.29)
        """
        before = self.prior.centre_sd**2
        before += sum((share * self.prior.demand_sds.get(key, 0.0)) ** 2 for key, share in shares.items())
        return 1.0 - self.centre(shares)[1] ** 2 / before

    def _variance(self, direction: Vector) -> float:
        """Return the widened variance in a direction of the unknowns, at most the prior's."""
        sds = np.array([self.prior.centre_sd, *(self.prior.demand_sds[powder] for powder in self.powders)])
        learned = self.widening**2 * float(direction @ self.covariance @ direction)
        return min(learned, float(((direction * sds) ** 2).sum()))

    def chances(self, log_index: float, shares: Mapping[str, float], width: float = 1.0) -> tuple[float, ...]:
        """Return the chance of every class for one more dough, what is not known of the window included.

        Parameters
        ----------
        log_index : float
            ln W of the dough, with the library's uptakes [-].
        shares : mapping of str to float
            Share of each powder in the demand for liquid [-].
        width : float
            Factor on the borders of the classes [-].

        Returns
        -------
        tuple of float
            One chance for each class, driest first; they add up to 1.

        Examples
        --------
        >>> prior = Prior(thresholds=(-0.035, 0.035), spread=0.03, centre_sd=0.2, demand_sds={})
        >>> [round(chance, 3) for chance in learn([], prior).chances(0.0, {})]
        [0.433, 0.134, 0.433]
        """
        mean, sd = self.centre(shares)
        borders = [width * border for border in self.prior.thresholds]
        return class_chances(log_index - mean, sd, borders, self.prior.spread)


def class_chances(
    log_distance: float, sd: float, thresholds: Sequence[float], spread: float
) -> tuple[float, ...]:
    """Return the chance of every class at an uncertain distance from the centre of the window.

    Parameters
    ----------
    log_distance : float
        Mean of ln W less the centre [-].
    sd : float
        Standard deviation of the same, 0 or more [-].
    thresholds : sequence of float
        Borders of the classes, ascending [-].
    spread : float
        Scale of the logistic error, above 0 [-].

    Returns
    -------
    tuple of float
        One chance for each class, driest first; they add up to 1.

    Notes
    -----
    The sum of a normal and a logistic error has no closed form. The narrower of the two is summed over by the
    trapezoidal rule, which for such smooth functions is exact to about 1e-7.

    Examples
    --------
    >>> [round(chance, 4) for chance in class_chances(0.0, 0.0, (-0.035, 0.035), 0.03)]
    [0.2375, 0.525, 0.2375]
    """
    borders = np.asarray(thresholds) - log_distance
    if sd <= spread:
        below = _logistic((borders[:, None] - sd * _NORMAL_NODES) / spread) @ _NORMAL_MASSES
    else:
        deviates = (borders[:, None] - spread * _LOGISTIC_NODES) / (sd * math.sqrt(2))
        below = (
            0.5 + 0.5 * np.array([[math.erf(x) for x in row] for row in deviates.tolist()]) @ _LOGISTIC_MASSES
        )
    return tuple(np.diff(np.concatenate(((0.0,), np.clip(below, 0.0, 1.0), (1.0,)))).tolist())


def faded(age_days: float, half_life_days: float) -> float:
    """Return the weight of a dough of this age.

    Parameters
    ----------
    age_days : float
        Age [d]; a dough dated ahead counts in full.
    half_life_days : float
        Age at which a dough counts half, above 0 [d].

    Returns
    -------
    float
        0..1 [-].

    Raises
    ------
    ValueError
        If the half-life is not above 0.

    Examples
    --------
    >>> faded(180, 90)
    0.25
    """
    if not half_life_days > 0:
        raise ValueError("half_life_days must be above 0")
    return float(0.5 ** (max(age_days, 0.0) / half_life_days))


def learn(doughs: Sequence[Dough], prior: Prior, rules: LearningRules | None = None) -> Window:
    """Return what the doughs teach.

    Parameters
    ----------
    doughs : sequence of Dough
        The evidence, in any order.
    prior : Prior
        What is believed without them.
    rules : LearningRules, optional
        When to doubt doughs that disagree; without, every dough is obeyed.

    Returns
    -------
    Window
        The mode of the posterior and the inverse of its Hessian; without doughs the prior itself.

    Raises
    ------
    ValueError
        If a dough holds a figure out of its range.

    Notes
    -----
    An outlier is a dough for which the fit to all doughs gives a verdict at least as extreme, on that side,
    less than ``rules.outlier_chance``. The fit is hardly drawn by it: beyond the borders the pull of a
    logistic error is constant. If the outliers are few enough they are set aside and the rest is fitted anew,
    once; if they are many, the doughs contradict each other and all of them stay.

    The dispersion is the sum of squared generalised residuals over the curvature they leave at the mode, per
    residual degree of freedom (doughs less effective parameters); the curvature counts as at least that of
    one dough on a border, so that doughs which are all far off give a finite figure. It widens the interval
    only where the scatter is more than chance explains: half of all makers whose doughs agree have one above
    1. A widened interval is never wider than the prior's.

    Examples
    --------
    One dough at the library's centre that came out clearly too wet moves the centre down:

    >>> prior = Prior(
    ...     thresholds=(-0.15, -0.075, -0.035, 0.035, 0.075, 0.15), spread=0.03, centre_sd=0.2, demand_sds={}
    ... )
    >>> mean, sd = learn([Dough(0.0, {}, 6)], prior).centre({})
    >>> round(math.exp(mean), 2), round(sd, 2)
    (0.9, 0.06)
    """
    return _fitted(_gather(doughs, prior), prior, rules)


def learn_more(
    window: Window, doughs: Sequence[Dough], prior: Prior, rules: LearningRules | None = None
) -> Window:
    """Return what the doughs of a window and these teach together, sooner than from the beginning.

    Parameters
    ----------
    window : Window
        What the earlier doughs taught.
    doughs : sequence of Dough
        What came after them.
    prior : Prior
        What is believed without any; it names every powder the earlier doughs carried.
    rules : LearningRules, optional
        When to doubt doughs that disagree.

    Returns
    -------
    Window
        What ``learn`` returns for all of the doughs, to the precision of its convergence.

    Raises
    ------
    ValueError
        If a dough holds a figure out of its range, or the window carries no doughs to go on from.

    Examples
    --------
    >>> prior = Prior(thresholds=(-0.035, 0.035), spread=0.03, centre_sd=0.2, demand_sds={})
    >>> earlier, now = [Dough(0.0, {}, 2), Dough(0.1, {}, 3)], [Dough(0.05, {}, 3)]
    >>> more, whole = learn_more(learn(earlier, prior), now, prior), learn([*earlier, *now], prior)
    >>> round(more.centre({})[0] - whole.centre({})[0], 9)
    0.0
    """
    if window.evidence is None or window.obeyed is None:
        raise ValueError("the window carries no doughs to go on from")
    evidence = window.evidence.joined(_gather(doughs, prior), prior)
    places = [0, *(1 + evidence.powders.index(one) for one in window.powders)]
    starts = np.tile(evidence.mean, (2, 1))
    starts[:, places] = window.obeyed, window.mean
    return _fitted(evidence, prior, rules, starts)


def _fitted(
    evidence: "_Evidence", prior: Prior, rules: LearningRules | None, starts: Vector | None = None
) -> Window:
    """Return what gathered doughs teach; ``starts`` guess the mode with all of them and without outliers."""
    every, count = evidence, len(evidence.outcomes)
    obeyed = mode = _descend(evidence, prior, None if starts is None else starts[0])
    outliers: NDArray[np.intp] = np.empty(0, dtype=np.intp)
    set_aside = False
    if rules is not None and count >= rules.outlier_doughs:
        outliers = _outliers(evidence, mode, prior, rules)
        set_aside = 0 < len(outliers) <= rules.outlier_share * count
        if set_aside:
            evidence = evidence.without(outliers)
            mode = _descend(evidence, prior, mode.point if starts is None else starts[1])
    covariance = _inverse(mode.hessian)
    dispersion, widening = _dispersion(evidence, mode, covariance, prior, rules)
    for array in (mode.point, obeyed.point, covariance):
        array.setflags(write=False)
    return Window(
        prior=prior,
        powders=evidence.powders,
        mean=mode.point,
        covariance=covariance,
        support=evidence.support,
        objective=mode.objective,
        dispersion=dispersion,
        widening=widening,
        outliers=tuple(outliers.tolist()),
        set_aside=set_aside,
        evidence=every,
        obeyed=obeyed.point,
    )


def choose_spread(
    doughs: Sequence[Dough], prior: Prior, lowest: float, highest: float, rules: LearningRules | None = None
) -> float:
    """Return the spread of judgements that the maker's own doughs speak for.

    Parameters
    ----------
    doughs : sequence of Dough
        The evidence.
    prior : Prior
        What is believed without them; its spread is returned while the doughs are too few.
    lowest, highest : float
        Range of the spread, above 0, ascending [-].
    rules : LearningRules, optional
        From how many doughs on the evidence is asked; without, always.

    Returns
    -------
    float
        The spread with the greatest marginal likelihood in the range, by Laplace's approximation [-].

    Raises
    ------
    ValueError
        If the range is not one, or a dough holds a figure out of its range.

    Notes
    -----
    Spreads in equal ratios are tried and a parabola is laid through the best three: within about a hundredth.

    Examples
    --------
    >>> prior = Prior(
    ...     thresholds=(-0.15, -0.075, -0.035, 0.035, 0.075, 0.15), spread=0.03, centre_sd=0.2, demand_sds={}
    ... )
    >>> steady = [Dough(x / 100, {}, 4 if abs(x) < 4 else 5) for x in range(-3, 7)]
    >>> choose_spread(steady, prior, 0.02, 0.08)
    0.02
    """
    if not 0 < lowest < highest < math.inf:
        raise ValueError("the range of the spread must ascend from above 0")
    if not doughs or (rules is not None and len(doughs) < rules.spread_doughs):
        return prior.spread
    evidence = _gather(doughs, prior)
    spreads = np.geomspace(lowest, highest, _SPREADS_TRIED)
    misfits: list[float] = []
    start: Vector | None = None
    for spread in spreads.tolist():
        mode = _descend(evidence, replace(prior, spread=spread), start)
        start = mode.point
        misfits.append(mode.objective + 0.5 * float(np.linalg.slogdet(mode.hessian)[1]))
    best = int(np.argmin(misfits))
    if best in (0, len(misfits) - 1):
        return float(spreads[best])
    before, here, after = misfits[best - 1 : best + 2]
    bend = before - 2 * here + after
    shift = 0.5 * (before - after) / bend if bend > 0 else 0.0
    return float(spreads[best] * (spreads[1] / spreads[0]) ** shift)


@dataclass(frozen=True, eq=False, slots=True)
class _Evidence:
    """The doughs as arrays, one row each; the first column of ``design`` is the centre."""

    powders: tuple[str, ...]
    support: dict[str, int]
    log_index: Vector
    design: Vector
    outcomes: NDArray[np.intp]
    weights: Vector
    widths: Vector
    mean: Vector
    precision: Vector

    def joined(self, after: "_Evidence", prior: Prior) -> "_Evidence":
        """Return these doughs and those after them, with the powders of both."""
        powders = tuple(sorted({*self.powders, *after.powders}))
        column = {powder: place for place, powder in enumerate(powders, start=1)}
        count = len(self.outcomes)
        design = np.zeros((count + len(after.outcomes), 1 + len(powders)))
        design[:count, [0, *(column[one] for one in self.powders)]] = self.design
        design[count:, [0, *(column[one] for one in after.powders)]] = after.design
        return _Evidence(
            powders=powders,
            support={one: self.support.get(one, 0) + after.support.get(one, 0) for one in powders},
            log_index=np.concatenate((self.log_index, after.log_index)),
            design=design,
            outcomes=np.concatenate((self.outcomes, after.outcomes)),
            weights=np.concatenate((self.weights, after.weights)),
            widths=np.concatenate((self.widths, after.widths)),
            mean=np.array([prior.centre, *(prior.demand_means.get(one, 0.0) for one in powders)]),
            precision=np.array([prior.centre_sd, *(prior.demand_sds[one] for one in powders)]) ** -2.0,
        )

    def without(self, rows: NDArray[np.intp]) -> "_Evidence":
        """Return the evidence less some doughs; the powders stay, with less support or none."""
        design = np.delete(self.design, rows, axis=0)
        counts = np.count_nonzero(design[:, 1:], axis=0).tolist()
        return replace(
            self,
            support=dict(zip(self.powders, counts, strict=True)),
            log_index=np.delete(self.log_index, rows),
            design=design,
            outcomes=np.delete(self.outcomes, rows),
            weights=np.delete(self.weights, rows),
            widths=np.delete(self.widths, rows),
        )


@dataclass(frozen=True, eq=False, slots=True)
class _Mode:
    """The mode, minus the log posterior there and its Hessian."""

    point: Vector
    objective: float
    hessian: Vector


def _gather(doughs: Sequence[Dough], prior: Prior) -> _Evidence:
    """Return the doughs as arrays; powders without uncertainty of their own have no column."""
    uncertain = {powder for powder, sd in prior.demand_sds.items() if sd > 0}
    powders = tuple(sorted(uncertain.intersection(chain.from_iterable(dough.shares for dough in doughs))))
    column = {powder: place for place, powder in enumerate(powders, start=1)}
    rows = np.repeat(np.arange(len(doughs)), [len(dough.shares) for dough in doughs])
    keys = chain.from_iterable(dough.shares for dough in doughs)
    columns = np.fromiter((column.get(key, 0) for key in keys), dtype=np.intp, count=len(rows))
    values = chain.from_iterable(dough.shares.values() for dough in doughs)
    shares = np.fromiter(values, dtype=np.float64, count=len(rows))
    log_index = np.array([dough.log_index for dough in doughs], dtype=np.float64)
    weights = np.array([dough.weight for dough in doughs], dtype=np.float64)
    widths = np.array([dough.width for dough in doughs], dtype=np.float64)
    outcomes = np.array([dough.outcome for dough in doughs], dtype=np.intp)
    if not (np.isfinite(log_index).all() and np.isfinite(shares).all() and (shares >= 0).all()):
        raise ValueError("log_index and shares must be finite, shares not below 0")
    if not ((weights >= 0) & (weights <= 1)).all():
        raise ValueError("weight must be 0..1")
    if not (np.isfinite(widths) & (widths > 0)).all():
        raise ValueError("width must be finite and above 0")
    if not ((outcomes >= 1) & (outcomes <= len(prior.thresholds) + 1)).all():
        raise ValueError(f"outcome must be 1..{len(prior.thresholds) + 1}")
    design = np.zeros((len(doughs), 1 + len(powders)))
    design[rows, columns] = shares
    design[:, 0] = 1.0
    counts = np.count_nonzero(design[:, 1:], axis=0).tolist()
    return _Evidence(
        powders=powders,
        support=dict(zip(powders, counts, strict=True)),
        log_index=log_index,
        design=design,
        outcomes=outcomes,
        weights=weights,
        widths=widths,
        mean=np.array([prior.centre, *(prior.demand_means.get(powder, 0.0) for powder in powders)]),
        precision=np.array([prior.centre_sd, *(prior.demand_sds[powder] for powder in powders)]) ** -2.0,
    )


def _descend(evidence: _Evidence, prior: Prior, start: Vector | None = None) -> _Mode:
    """Return the mode by Newton's method with step halving.

    With a logistic error ln(F(u) - F(v)) = ln F(u) + ln F(-v) + ln(1 - exp(v - u)), whose last term does not
    depend on the unknowns: nothing underflows however far off a verdict lies, and the second derivative is
    -(f(u) + f(v)), so that the problem is strictly convex.
    """
    if start is None and len(evidence.outcomes) == 1:
        return _descend_along(evidence, prior)
    spread = prior.spread
    edges = np.array([-math.inf, *prior.thresholds, math.inf])
    upper = edges[evidence.outcomes] * evidence.widths - evidence.log_index
    lower = edges[evidence.outcomes - 1] * evidence.widths - evidence.log_index
    design, weights, mean, precision = evidence.design, evidence.weights, evidence.mean, evidence.precision
    constant = -float(weights @ np.log(-np.expm1((lower - upper) / spread)))

    def distances(point: Vector) -> tuple[Vector, Vector, float]:
        shift = design @ point
        above, below = (upper + shift) / spread, (lower + shift) / spread
        pull = point - mean
        misfit = (
            weights @ (np.logaddexp(0.0, -above) + np.logaddexp(0.0, below)) + 0.5 * (precision * pull) @ pull
        )
        return above, below, constant + float(misfit)

    point = _first_guess(evidence, edges, spread) if start is None else start
    above, below, objective = distances(point)
    for _ in range(_STEPS_AT_MOST):
        beyond, under = _logistic(-above), _logistic(below)
        gradient = precision * (point - mean) - design.T @ (weights * (beyond - under)) / spread
        curvature = weights * (beyond * (1.0 - beyond) + under * (1.0 - under)) / spread**2
        hessian = _gram(design, curvature, precision)
        step = np.linalg.solve(hessian, -gradient)
        fall = -float(gradient @ step)
        if fall < _CONVERGED * (1.0 + abs(objective)):
            return _Mode(point=point + step, objective=objective - 0.5 * fall, hessian=hessian)
        length, slack = 1.0, _ROUNDING * (1.0 + abs(objective))
        above, below, reached = distances(point + step)
        while reached > objective + slack:
            length *= 0.5
            above, below, reached = distances(point + length * step)
        point, objective = point + length * step, reached
    raise ArithmeticError("the doughs and the prior have no mode that can be found")


def _descend_along(evidence: _Evidence, prior: Prior) -> _Mode:
    """Return the mode with a single dough.

    It moves the unknowns along its own design alone, each by its prior variance, so one number is sought; a
    convex search in plain numbers is many times quicker than one in arrays of a few.
    """
    spread, design, weight = prior.spread, evidence.design[0], float(evidence.weights[0])
    direction = design / evidence.precision
    reach, begin = float(design @ direction), float(design @ evidence.mean)
    edges = (-math.inf, *prior.thresholds, math.inf)
    outcome, width, log_index = int(evidence.outcomes[0]), float(evidence.widths[0]), evidence.log_index[0]
    upper = edges[outcome] * width - float(log_index) + begin
    lower = edges[outcome - 1] * width - float(log_index) + begin
    constant = -weight * math.log(-math.expm1((lower - upper) / spread))

    def objective(pull: float) -> float:
        above, below = (upper + reach * pull) / spread, (lower + reach * pull) / spread
        return constant + weight * (_softplus(-above) + _softplus(below)) + 0.5 * reach * pull**2

    pull, reached = 0.0, objective(0.0)
    for _ in range(_STEPS_AT_MOST):
        beyond = _sigmoid(-(upper + reach * pull) / spread)
        under = _sigmoid((lower + reach * pull) / spread)
        slope = reach * (pull - weight * (beyond - under) / spread)
        curvature = weight * (beyond * (1.0 - beyond) + under * (1.0 - under)) / spread**2
        step = -slope / (reach + reach**2 * curvature)
        fall = -slope * step
        if fall < _CONVERGED * (1.0 + abs(reached)):
            return _Mode(
                point=evidence.mean + (pull + step) * direction,
                objective=reached - 0.5 * fall,
                hessian=np.diag(evidence.precision) + curvature * np.multiply.outer(design, design),
            )
        slack = _ROUNDING * (1.0 + abs(reached))
        while objective(pull + step) > reached + slack:
            step *= 0.5
        pull += step
        reached = objective(pull)
    raise ArithmeticError("the dough and the prior have no mode that can be found")


def _softplus(x: float) -> float:
    """Return ln(1 + exp(x))."""
    return max(x, 0.0) + math.log1p(math.exp(-abs(x)))


def _sigmoid(x: float) -> float:
    """Return 1 / (1 + exp(-x))."""
    small = math.exp(-abs(x))
    return 1.0 / (1.0 + small) if x >= 0 else small / (1.0 + small)


def _first_guess(evidence: _Evidence, edges: Vector, spread: float) -> Vector:
    """Return the mode if every verdict were a reading at the middle of its class with a normal error."""
    borders = np.concatenate(([edges[1] - spread], edges[1:-1], [edges[-2] + spread]))
    middles = 0.5 * (borders[1:] + borders[:-1])
    aimed = middles[evidence.outcomes - 1] * evidence.widths
    gaps = evidence.log_index - aimed - evidence.design @ evidence.mean
    curvature = evidence.weights / (3.0 * spread**2)
    hessian = _gram(evidence.design, curvature, evidence.precision)
    return evidence.mean + np.linalg.solve(hessian, evidence.design.T @ (curvature * gaps))


def _gram(design: Vector, curvature: Vector, precision: Vector) -> Vector:
    """Return design' diag(curvature) design + diag(precision)."""
    scaled = design * np.sqrt(curvature)[:, None]
    gram = scaled.T @ scaled
    gram.flat[:: len(precision) + 1] += precision
    return gram


def _inverse(hessian: Vector) -> Vector:
    """Return the inverse of a positive definite matrix, symmetric to the last bit."""
    inverse = np.linalg.inv(hessian)
    return 0.5 * (inverse + inverse.T)


def _below(evidence: _Evidence, mode: _Mode, prior: Prior) -> Vector:
    """Return, for every dough at the mode, the chance of a class at most 0, 1, .. number of classes."""
    eta = evidence.log_index - evidence.design @ mode.point
    borders = np.multiply.outer(evidence.widths, prior.thresholds)
    inner = _logistic((borders - eta[:, None]) / prior.spread)
    below = np.empty((len(inner), inner.shape[1] + 2))
    below[:, 0], below[:, 1:-1], below[:, -1] = 0.0, inner, 1.0
    return below


def _outliers(evidence: _Evidence, mode: _Mode, prior: Prior, rules: LearningRules) -> NDArray[np.intp]:
    """Return the rows whose verdict, or one further out, had less than the chance the rules set."""
    below = _below(evidence, mode, prior)
    rows = np.arange(len(below))
    drier, wetter = below[rows, evidence.outcomes], 1.0 - below[rows, evidence.outcomes - 1]
    return np.flatnonzero(np.minimum(drier, wetter) < rules.outlier_chance)


def _dispersion(
    evidence: _Evidence, mode: _Mode, covariance: Vector, prior: Prior, rules: LearningRules | None
) -> tuple[float, float]:
    """Return the dispersion and the factor on the standard deviation that follows from it."""
    doughs = float(evidence.weights.sum())
    parameters = len(evidence.precision) - float(np.diag(covariance) @ evidence.precision)
    if rules is None or len(evidence.weights) < rules.dispersion_doughs or doughs - parameters < 1.0:
        return 1.0, 1.0
    below = _below(evidence, mode, prior)
    chances = np.diff(below, axis=1)
    squares = (1.0 - below[:, 1:] - below[:, :-1]) ** 2
    information = (chances * squares).sum(axis=1)
    rows = np.arange(len(below))
    weights, freedom = evidence.weights, (doughs - parameters) / doughs
    found = weights @ squares[rows, evidence.outcomes - 1]
    borders = below * (1.0 - below)
    curvature = weights @ (borders[rows, evidence.outcomes] + borders[rows, evidence.outcomes - 1])
    dispersion = float(found / (max(float(curvature), _GREATEST_SLOPE) * freedom))
    excess = found - weights @ information * freedom
    chance = math.sqrt(weights**2 @ ((chances * squares**2).sum(axis=1) - information**2))
    told = dispersion > 1.0 and excess > rules.dispersion_excess * chance
    return dispersion, math.sqrt(dispersion) if told else 1.0


def _logistic(x: Vector) -> Vector:
    """Return the logistic function without overflow."""
    return np.asarray(0.5 + 0.5 * np.tanh(0.5 * x))
