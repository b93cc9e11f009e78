"""Turns an addition into whole steps of a balance: none, or enough to weigh well."""

import math
from collections.abc import Mapping, Sequence
from itertools import product

import numpy as np
import numpy.typing as npt

from advisor.frozen import cached_property, dataclass
from advisor.optimise.row import TOLERANCE, Row

_PROVED = 1e-8
_COMBINATIONS_AT_MOST = 4096
_PAIRED_AT_MOST = 24
_DIGITS = 9
_Floats = npt.NDArray[np.float64]
_Ints = npt.NDArray[np.int64]


@dataclass(frozen=True)
class Steps:
    """What is to be weighed in whole steps, each material within a step of what it should be.

    Parameters
    ----------
    base : mapping of str to float
        What is there, in the unit of the rows.
    exact : mapping of str to float
        The addition before rounding, in the same unit.
    groups : sequence of sequences of Row
        What the sum of base and addition is to meet, the most sacred first; the penalty of a row is what a
        unit missed costs within its group (1 where it has none).
    step : float
        One step of the balance, in the same unit.
    least : int
        Fewest steps that weigh well; a material gets none or at least so many.

    Examples
    --------
    >>> enough = Row("enough", {"clay": 0.4, "starch": 0.5}, ">=", 10.0)
    >>> nearest_steps(Steps({}, {"starch": 20.0}, [[enough]], 3.0)).counts
    {'starch': 7}
    """

    base: Mapping[str, float]
    exact: Mapping[str, float]
    groups: Sequence[Sequence[Row]]
    step: float
    least: int = 1

    @cached_property
    def keys(self) -> list[str]:
        """The materials in canonical order."""
        return sorted(self.exact)

    @cached_property
    def choices(self) -> list[list[int]]:
        """The steps each material may get, the nearest first."""
        return [_beside(self.exact[key] / self.step, self.least) for key in self.keys]


@dataclass(frozen=True, slots=True)
class Counted:
    """Whole steps by material; ``proved`` where no others beside the exact addition miss less."""

    counts: dict[str, int]
    proved: bool


def nearest_steps(task: Steps) -> Counted:
    """Return the whole steps beside an addition that miss the groups by least, in their order.

    The sum of all is within a step too, unless that breaks what is most sacred. Among those that miss as
    little it is the one nearest to the addition. Up to a few thousand combinations
    are all tried; beyond, single steps and pairs of them are moved for as long as that helps.

    Examples
    --------
    >>> low = [Row("enough", {"clay": 1.0}, ">=", 2.2)]
    >>> nearest_steps(Steps({}, {"clay": 2.4}, [low], 1.0)), nearest_steps(Steps({}, {"clay": 2.4}, [], 1.0))
    (Counted(counts={'clay': 3}, proved=True), Counted(counts={'clay': 2}, proved=True))
    """
    if not task.keys:
        return Counted({}, proved=True)
    grid = _Grid(task)
    if math.prod(map(len, task.choices)) <= _COMBINATIONS_AT_MOST:
        every: _Ints = np.array(list(product(*task.choices)), dtype=np.int64)
        best, proved = every[grid.best(every)], True
    else:
        best, proved = grid.descend(np.array([options[0] for options in task.choices], dtype=np.int64))
    counts = {key: int(count) for key, count in zip(task.keys, best, strict=True) if count}
    return Counted(counts, proved)


def _beside(exact: float, least: int) -> list[int]:
    below = math.floor(exact + TOLERANCE)
    near = {below} if exact - below <= TOLERANCE else {below, below + 1}
    weighed = {taken for count in near for taken in ((count,) if count >= least else (0, least))}
    return sorted(weighed, key=lambda count: (abs(count - exact), count))


class _Grid:
    """The rows of a task as matrices over whole steps."""

    def __init__(self, task: Steps) -> None:
        self._exact: _Floats = np.array([task.exact[key] / task.step for key in task.keys])
        self._choices = task.choices
        signed = [
            (place, row, sign)
            for place, group in enumerate(task.groups)
            for row in group
            for sign in {"<=": (1.0,), ">=": (-1.0,), "=": (1.0, -1.0)}[row.sense]
        ]
        self._matrix: _Floats = np.array(
            [
                [sign * task.step * (row.coefficients.get(key, 0.0) + row.each) for key in task.keys]
                for _, row, sign in signed
            ]
        ).reshape(len(signed), len(task.keys))
        self._room: _Floats = np.array([sign * (row.bound - row.value(task.base)) for _, row, sign in signed])
        self._prices: _Floats = np.zeros((len(task.groups), len(signed)))
        for at, (place, row, _) in enumerate(signed):
            self._prices[place, at] = 1.0 if row.penalty is None else row.penalty

    def _scores(self, counts: _Ints) -> _Floats:
        """Return what each candidate misses by group, then how far it is off, a column a candidate."""
        over = self._matrix @ counts.T - self._room[:, None]
        off = counts - self._exact
        return self._ranked(over, np.abs(off).sum(axis=1), off.sum(axis=1))

    def _ranked(self, over: _Floats, off: _Floats, in_all: _Floats) -> _Floats:
        """Return the scores; the sum of all is to be within a step before any but the first group."""
        missed = self._prices @ np.where(over > _PROVED, over, 0.0)
        missed = np.insert(missed, min(1, len(missed)), np.maximum(np.abs(in_all) - 1.0, 0.0), axis=0)
        return np.asarray(np.round(np.vstack([missed, off]), _DIGITS), dtype=np.float64)

    def best(self, counts: _Ints) -> int:
        """Return the place of the best candidate."""
        return int(np.lexsort(self._scores(counts)[::-1])[0])

    def descend(self, start: _Ints) -> tuple[_Ints, bool]:
        """Move single steps, and pairs of them where no single one helps, for as long as that helps.

        Returns
        -------
        counts, proved
            Proved where the start itself, the nearest of all, misses nothing.
        """
        now = start.copy()
        score = self._scores(now[None, :])[:, 0]
        proved = not score[:-1].any()
        for _ in range(2 * len(start)):
            moves = [(at, other) for at, of in enumerate(self._choices) for other in of if other != now[at]]
            by = np.array([other - now[at] for at, other in moves])
            places = np.array([at for at, _ in moves])
            over = (self._matrix @ now - self._room)[:, None]
            effect = self._matrix[:, places] * by
            off = np.abs(now - self._exact)
            farther = np.abs(now[places] + by - self._exact[places]) - off[places]
            whole = (now - self._exact).sum()
            scores = self._ranked(over + effect, off.sum() + farther, whole + by)
            order = np.lexsort(scores[::-1])
            taken, found = order[:1], scores[:, order[0]]
            if not _less(found, score):
                few = order[:_PAIRED_AT_MOST]
                one, two = (few[side] for side in np.triu_indices(len(few), 1))
                apart = places[one] != places[two]
                one, two = one[apart], two[apart]
                scores = self._ranked(
                    over + effect[:, one] + effect[:, two],
                    off.sum() + farther[one] + farther[two],
                    whole + by[one] + by[two],
                )
                if not scores.size:
                    break
                at = np.lexsort(scores[::-1])[0]
                taken, found = np.array([one[at], two[at]]), scores[:, at]
                if not _less(found, score):
                    break
            now[places[taken]] += by[taken]
            score = found
        return now, proved


def _less(found: _Floats, score: _Floats) -> bool:
    """Tell whether one score comes before another."""
    return tuple(found) < tuple(score)


def fewest_steps(grams: float, step: float) -> int:
    """Return how many steps make at least so many grams.

    Examples
    --------
    >>> fewest_steps(0.5, 0.1), fewest_steps(0.25, 0.1)
    (5, 3)
    """
    return max(1, math.ceil(grams / step - TOLERANCE))
