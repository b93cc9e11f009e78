"""A maker's habits, told by how the doughs lie: how wide the words are, and how fast the window drifts."""

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from advisor.frozen import dataclass, replace
from advisor.learning.belief import Dough, Habit, Prior
from advisor.learning.evidence import gather
from advisor.learning.mode import ENOUGH, MANY, descend


@dataclass(frozen=True, slots=True)
class Habits:
    """What is believed of makers' habits before any dough.

    Parameters
    ----------
    word_widths : tuple of float
        Factors on the borders of the classes that are tried, above 0, ascending [-].
    word_chances : tuple of float
        How likely each is among makers, above 0 [-].
    drifts : tuple of float
        Changes of the centre from dough to dough that are tried, as standard deviations, 0 or more [-].
    drift_memories : tuple of float
        For how many doughs each keeps its direction, 0 or more.
    drift_chances : tuple of float
        How likely each is before any dough, above 0 [-].
    drift_heeded : float
        Factor on the chance of a drift where the next dough is aimed, above 0 and at most 1 [-].
    newest : int
        From how many of the newest doughs habits are told, 1 or more.
    believed_from : float
        What is less likely than this after the doughs is left out, 0 or more and below 1 [-].

    Raises
    ------
    ValueError
        If a figure is out of its range.

    Examples
    --------
    >>> Habits(
    ...     word_widths=(0.6, 1.0), word_chances=(0.5, 0.5), drifts=(0.0,), drift_memories=(0.0,),
    ...     drift_chances=(0.5, 0.5), drift_heeded=1.0, newest=60, believed_from=0.01,
    ... )
    Traceback (most recent call last):
    ...
    ValueError: every width and every drift needs a chance above 0, a drift a memory, of its own
    """

    word_widths: tuple[float, ...]
    word_chances: tuple[float, ...]
    drifts: tuple[float, ...]
    drift_memories: tuple[float, ...]
    drift_chances: tuple[float, ...]
    drift_heeded: float
    newest: int
    believed_from: float

    def __post_init__(self) -> None:
        """Refuse habits nobody can have."""
        every = (*self.word_chances, *self.drift_chances)
        sizes = len(self.word_widths), len(self.drifts), len(self.drift_memories)
        if sizes != (len(self.word_chances), *[len(self.drift_chances)] * 2) or not min(every, default=0) > 0:
            raise ValueError(
                "every width and every drift needs a chance above 0, a drift a memory, of its own"
            )
        if min(self.word_widths) <= 0 or any(b <= a for a, b in pairwise(self.word_widths)):
            raise ValueError("word_widths must be above 0 and ascend")
        if min(*self.drifts, *self.drift_memories) < 0 or self.newest < 1:
            raise ValueError("drifts and their memories must not be below 0, newest above 0")
        if not 0 <= self.believed_from < 1:
            raise ValueError("believed_from must be 0 or more and below 1")

    def tried(self) -> tuple[Habit, ...]:
        """Return all that is tried, each as likely as before any dough."""
        moves = list(zip(self.drifts, self.drift_memories, self.drift_chances, strict=True))
        whole = sum(self.word_chances) * sum(self.drift_chances)
        return tuple(
            Habit(
                of_words * of_drift / whole, words, drift, memory, heeded=self.drift_heeded if drift else 1.0
            )
            for words, of_words in zip(self.word_widths, self.word_chances, strict=True)
            for drift, memory, of_drift in moves
        )


def with_habits(doughs: Sequence[Dough], prior: Prior, habits: Habits) -> Prior:
    """Return the prior with the habits that a maker's own doughs speak for.

    Parameters
    ----------
    doughs : sequence of Dough
        The evidence, oldest first.
    prior : Prior
        What is believed without it.
    habits : Habits
        What is tried, and how likely each is.

    Returns
    -------
    Prior
        With every habit that is not all too unlikely, weighted by the marginal likelihood of the doughs
        (Laplace's approximation) and what was believed before. Of makers with very many powders the likeliest
        alone is taken.

    Raises
    ------
    ValueError
        If a dough is of a class that the words do not have.

    Examples
    --------
    Doughs that wander are met with a window that drifts:

    >>> prior = Prior(thresholds=(-0.075, -0.035, 0.035, 0.075), spread=0.03, centre_sd=0.2, demand_sds={})
    >>> habits = Habits(
    ...     word_widths=(1.0,), word_chances=(1.0,), drifts=(0.0, 0.03), drift_memories=(0.0, 0.0),
    ...     drift_chances=(0.8, 0.2), drift_heeded=1.0, newest=60, believed_from=0.0,
    ... )
    >>> steady, wander = [Dough(0.0, {}, 3)] * 20, [Dough(x / 50, {}, 3) for x in range(20)]
    >>> [with_habits(doughs, prior, habits).habits[1].chance > 0.9 for doughs in (steady, wander)]
    [False, True]
    """
    believed = replace(prior, habits=habits.tried())
    evidence = gather(doughs[-habits.newest :], prior).drifting(believed.habits)
    before = np.log([one.chance for one in believed.habits])
    merits = before + descend(evidence, believed, enough=ENOUGH).merits(evidence)
    chances = np.exp(merits - merits.max())
    few = 1.0 if len(evidence.powders) >= MANY else habits.believed_from * chances.sum()
    chances[chances < few] = 0.0
    chances /= chances.sum()
    return replace(
        prior,
        habits=tuple(
            replace(one, chance=chance)
            for one, chance in zip(believed.habits, chances.tolist(), strict=True)
            if chance
        ),
    )
