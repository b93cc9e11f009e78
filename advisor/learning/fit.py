"""From doughs to what is believed: the fit, its doubts, the spread of judgements, fading."""

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from advisor.frozen import replace
from advisor.learning.belief import Dough, Habit, LearningRules, Prior
from advisor.learning.chances import Vector
from advisor.learning.doubt import odd_ones, scatter
from advisor.learning.evidence import Evidence, gather
from advisor.learning.mode import ENOUGH, descend, inverse
from advisor.learning.posterior import Window

_SPREADS_TRIED = 13


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
        If a dough is of a class that the words do not have.

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
    return _fitted(gather(doughs, prior), prior, rules)


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
        If a dough is of a class that the words do not have, or the window carries no doughs to go on from.

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
    evidence = window.evidence.joined(gather(doughs, prior), prior)
    start = evidence.mean.copy()
    start[[0, *(1 + evidence.powders.index(one) for one in window.powders)]] = window.obeyed
    return _fitted(evidence, prior, rules, start)


def _fitted(
    evidence: Evidence, prior: Prior, rules: LearningRules | None, start: Vector | None = None
) -> Window:
    """Return what gathered doughs teach; ``start`` guesses the mode with all of them."""
    every, count, known = evidence, len(evidence.outcomes), 1 + len(evidence.powders)
    evidence = evidence.drifting(prior.habits)
    if start is not None:
        start = np.concatenate((start, np.zeros(len(evidence.mean) - known)))
    obeyed = mode = descend(evidence, prior, start)
    outliers: NDArray[np.intp] = np.empty(0, dtype=np.intp)
    set_aside = False
    if rules is not None and count >= rules.outlier_doughs:
        outliers = odd_ones(evidence, mode, prior, rules)
        set_aside = 0 < len(outliers) <= rules.outlier_share * count
        if set_aside:
            evidence = evidence.without(outliers)
            mode = descend(evidence, prior, mode.point)
    covariances = inverse(mode.hessian)
    if prior.slips or any(one.drift for one in prior.habits):
        dispersion, contradicted = _contradiction(every, outliers if set_aside else None, prior, rules)
        widening = 1.0
    else:
        dispersion, contradicted = scatter(evidence, mode, covariances, prior, rules)
        widening = math.sqrt(dispersion) if contradicted else 1.0
    chances = np.array([one.chance for one in prior.habits])
    means, covariances = mode.point[:, :known], covariances[:, :known, :known]
    mean, whole = chances @ means, chances @ obeyed.point[:, :known]
    apart = means - mean
    covariance = (chances @ covariances.reshape(len(chances), -1)).reshape(known, known) + (
        chances * apart.T
    ) @ apart
    for array in (mean, whole, covariance, means, covariances):
        array.setflags(write=False)
    return Window(
        prior=prior,
        powders=evidence.powders,
        mean=mean,
        covariance=covariance,
        means=means,
        covariances=covariances,
        support=evidence.support,
        objective=float(chances @ mode.objective),
        dispersion=dispersion,
        widening=widening,
        contradicted=contradicted,
        outliers=tuple(outliers.tolist()),
        set_aside=set_aside,
        evidence=every,
        obeyed=whole,
    )


def _contradiction(
    evidence: Evidence, aside: NDArray[np.intp] | None, prior: Prior, rules: LearningRules | None
) -> tuple[float, bool]:
    """Return the scatter, and whether it is more than chance, of a window at rest and no report a slip."""
    if rules is None or len(evidence.outcomes) < rules.dispersion_doughs:
        return 1.0, False
    words = math.exp(sum(one.chance * math.log(one.words) for one in prior.habits))
    still = replace(prior, habits=(Habit(words=words),), slips=0.0, spread=rules.usual_spread or prior.spread)
    kept = (evidence if aside is None else evidence.without(aside)).drifting(still.habits)
    mode = descend(kept, still, enough=ENOUGH)
    return scatter(kept, mode, inverse(mode.hessian), still, rules)


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
        From how many doughs on the evidence is asked, and how spreads lie among makers about that of the
        prior; without, always, and every spread is as likely.

    Returns
    -------
    float
        The likeliest spread in the range, by Laplace's approximation of the marginal likelihood [-].

    Raises
    ------
    ValueError
        If the range is not one, or a dough is of a class that the words do not have.

    Notes
    -----
    Thirteen spreads in equal ratios are tried, the ends of the range among them.

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
    spreads = np.geomspace(lowest, highest, _SPREADS_TRIED)
    likeliest = max(prior.habits, key=lambda one: one.chance)
    tried = replace(
        prior,
        habits=tuple(replace(likeliest, chance=1.0 / _SPREADS_TRIED, spread=one) for one in spreads.tolist()),
    )
    evidence = gather(doughs, prior).drifting(tried.habits)
    merits = descend(evidence, tried, enough=ENOUGH).merits(evidence)
    if rules is not None:
        merits -= 0.5 * (np.log(spreads / prior.spread) / rules.spread_log_sd) ** 2
    return float(spreads[np.argmax(merits)])
