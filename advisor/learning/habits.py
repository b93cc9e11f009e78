"""A maker's habits, told by how the doughs lie: how wide the words are, and how fast the window drifts."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from advisor.learning.belief import Dough, Prior
from advisor.learning.chances import Vector
from advisor.learning.evidence import gather
from advisor.learning.mode import ENOUGH, descend


@dataclass(frozen=True, slots=True)
class Habits:
    """What is believed of makers' habits before any dough.

    Parameters
    ----------
    word_widths : tuple of float
        Factors on the borders of the classes that are tried, above 0, ascending [-].
    word_widths_sd : float
        Standard deviation of the logarithm of that factor among makers, above 0 [-].
    drifts : tuple of float
        Changes of the centre from dough to dough that are tried, as standard deviations, 0 or more [-].
    drift_chances : tuple of float
        How likely each is before any dough, above 0 [-].
    newest : int
        From how many of the newest doughs habits are told, 1 or more.

    Raises
    ------
    ValueError
        If a figure is out of its range.

    Examples
    --------
    >>> Habits(word_widths=(0.6, 1.0), word_widths_sd=0.3, drifts=(0.0,), drift_chances=(0.5, 0.5), newest=60)
    Traceback (most recent call last):
    ...
    ValueError: every drift needs a chance above 0 of its own
    """

    word_widths: tuple[float, ...]
    word_widths_sd: float
    drifts: tuple[float, ...]
    drift_chances: tuple[float, ...]
    newest: int

    def __post_init__(self) -> None:
        """Refuse habits nobody can have."""
        if (
            not self.word_widths
            or min(self.word_widths) <= 0
            or any(b <= a for a, b in pairwise(self.word_widths))
        ):
            raise ValueError("word_widths must be above 0 and ascend")
        if len(self.drifts) != len(self.drift_chances) or not all(one > 0 for one in self.drift_chances):
            raise ValueError("every drift needs a chance above 0 of its own")
        if not self.word_widths_sd > 0 or min(self.drifts) < 0 or self.newest < 1:
            raise ValueError("word_widths_sd and newest must be above 0, drifts not below 0")


def with_habits(doughs: Sequence[Dough], prior: Prior, habits: Habits) -> Prior:
    """Return the prior with the habits that a maker's own doughs speak for.

    Parameters
    ----------
    doughs : sequence of Dough
        The evidence, oldest first.
    prior : Prior
        What is believed without it; its drift stands until there are two doughs.
    habits : Habits
        What is tried, and how likely each is.

    Returns
    -------
    Prior
        With the mean of each habit over what was tried, weighted by the marginal likelihood of the doughs
        (Laplace's approximation) and what was believed before.

    Raises
    ------
    ValueError
        If a dough holds a figure out of its range.

    Examples
    --------
    Doughs that wander are met with a window that drifts:

    >>> prior = Prior(thresholds=(-0.075, -0.035, 0.035, 0.075), spread=0.03, centre_sd=0.2, demand_sds={})
    >>> habits = Habits(
    ...     word_widths=(1.0,), word_widths_sd=0.3, drifts=(0.0, 0.03), drift_chances=(0.8, 0.2), newest=60
    ... )
    >>> steady, wander = [Dough(0.0, {}, 3)] * 20, [Dough(x / 50, {}, 3) for x in range(20)]
    >>> with_habits(steady, prior, habits).drift < 0.01 < with_habits(wander, prior, habits).drift
    True
    """
    evidence = gather(doughs[-habits.newest :], prior)
    factors = np.log(habits.word_widths)
    merits = np.empty((len(habits.drifts), len(factors)))
    for row, (drift, chance) in enumerate(zip(habits.drifts, habits.drift_chances, strict=True)):
        drifting, start = evidence.drifting(drift), None
        for column, words in enumerate(habits.word_widths):
            mode = descend(drifting, replace(prior, thresholds=_scaled(prior, words)), start, enough=ENOUGH)
            spare = np.log(drifting.precision).sum() - np.linalg.slogdet(mode.hessian)[1]
            merits[row, column] = math.log(chance) + 0.5 * spare - mode.objective
            start = mode.point
    merits -= 0.5 * (factors / habits.word_widths_sd) ** 2
    weights: Vector = np.exp(merits - merits.max())
    weights /= weights.sum()
    drift = float(weights.sum(axis=1) @ habits.drifts)
    words = math.exp(float(weights.sum(axis=0) @ factors))
    return replace(prior, thresholds=_scaled(prior, words), drift=drift)


def _scaled(prior: Prior, words: float) -> tuple[float, ...]:
    return tuple(words * border for border in prior.thresholds)
