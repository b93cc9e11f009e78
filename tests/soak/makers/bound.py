"""How good the fifteenth dough can be at all: everything is known but where the window lies.

Usage: python -m tests.soak.makers.bound [makers]. The makers of the first world, their errors and words known for
certain, hold the exact posterior of one unknown on a grid. One way makes each dough where it is likeliest workable,
the other makes all but the last where the report tells most. No way to choose doughs can do better than the second
at the last of them, but for what telling most in one dough leaves to be gained by planning several.
"""

import sys
from functools import cache

import numpy as np
from numpy.typing import NDArray

from advisor.learning.chances import logistic

from .worlds import BOOK, CLASSES, POWDERS, WORKABLE, WORLDS, makers

_GRID = np.arange(-240, 241) * 0.005
_TINY = 1e-300


@cache
def _verdicts() -> NDArray[np.float64]:
    """Return the chance of every class, by where the dough and where the window lies on the grid [classes, dough, window]."""
    return _chances(np.subtract.outer(_GRID, _GRID))


def _chances(distance: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the chance of every class, the first axis, at distances from the centre."""
    edges = np.array([-np.inf, *CLASSES.thresholds, np.inf])
    below = np.stack([logistic((edge - distance) / CLASSES.spread) for edge in edges])
    return np.asarray(np.diff(below, axis=0))


def _likeliest(belief: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return where each maker's dough is likeliest workable."""
    return _peak(belief @ _verdicts()[WORKABLE].T)


def _most_telling(belief: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return where each maker's report tells most of the window (mutual information)."""
    verdicts = _verdicts()
    noise = -(verdicts * np.log(np.maximum(verdicts, _TINY))).sum(axis=0)
    told = -belief @ noise.T
    for of_class in verdicts:
        expected = belief @ of_class.T
        told -= expected * np.log(np.maximum(expected, _TINY))
    return np.asarray(_GRID[told.argmax(axis=1)])


def _peak(height: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return where a row is highest, by the parabola through the highest point and its neighbours."""
    top = np.clip(height.argmax(axis=1), 1, len(_GRID) - 2)[:, None]
    left, at, right = (np.take_along_axis(height, top + side, axis=1)[:, 0] for side in (-1, 0, 1))
    bend = np.minimum(left - 2 * at + right, -_TINY)
    return np.asarray(_GRID[top[:, 0]] + 0.5 * (_GRID[1] - _GRID[0]) * np.clip((left - right) / bend, -1, 1))


def last_dough(count: int, *, learning: bool, doughs: int = 15) -> float:
    """Return the mean chance of a workable last dough; with ``learning`` those before it are made to learn only."""
    everyone = makers(WORLDS[0], count)
    demands = np.array([BOOK.ingredients[key].uptake_sd for key in POWDERS])
    blends = np.array([list(one.shares.values()) for one in everyone])
    sds = np.sqrt(BOOK.dough.prior.centre_sd**2 + ((blends * demands) ** 2).sum(axis=1))
    belief = np.exp(-0.5 * (_GRID / sds[:, None]) ** 2)
    index = np.zeros(count)
    for place in range(doughs - 1):
        reports = [one.report(place, at) - 1 for one, at in zip(everyone, index.tolist(), strict=True)]
        belief *= _chances(index[:, None] - _GRID)[reports, np.arange(count)]
        belief /= belief.sum(axis=1, keepdims=True)
        index = (_most_telling if learning and place < doughs - 2 else _likeliest)(belief)
    return float(np.mean([one.chance(0, at) for one, at in zip(everyone, index.tolist(), strict=True)]))


if __name__ == "__main__":
    asked = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    for learning, way in ((False, "each made where likeliest"), (True, "all but the last made to learn")):
        print(f"{way}: {last_dough(asked, learning=learning):.3f}")
