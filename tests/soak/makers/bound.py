"""How good the fifteenth dough can be at all: everything is known but where the window lies, or how it moves as well.

Usage: python -m tests.soak.makers.bound [makers]. The makers of the first world, their errors and words known for
certain, hold the exact posterior of one unknown on a grid. One way makes each dough where it is likeliest workable,
the other makes all but the last where the report tells most. No way to choose doughs can do better than the second
at the last of them, but for what telling most in one dough leaves to be gained by planning several.

Then makers do not know whether their window rests or moves as in the world of the slow drift, of which they know
all but the season they begin in: what a dough gains where windows rest it loses where they move. The tool knows
neither errors, words nor seasons, so it cannot do better in both.
"""

import sys
from collections.abc import Sequence
from functools import cache

import numpy as np
from numpy.typing import NDArray

from advisor.learning.chances import logistic

from .course import TOLD, course, walks
from .worlds import BOOK, CLASSES, DOUGHS_A_YEAR, POWDERS, WORKABLE, WORLDS, Maker, World, makers

_GRID = np.arange(-240, 241) * 0.005
_TINY = 1e-300
_PHASES = 24


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
    belief = np.exp(-0.5 * (_GRID / _centre_sds(everyone)[:, None]) ** 2)
    index = np.zeros(count)
    for place in range(doughs - 1):
        belief *= _likelihood(everyone, place, index)
        belief /= belief.sum(axis=1, keepdims=True)
        index = (_most_telling if learning and place < doughs - 2 else _likeliest)(belief)
    return float(np.mean([one.chance(0, at) for one, at in zip(everyone, index.tolist(), strict=True)]))


def rest_or_season(count: int, chance: float, heeded: float) -> tuple[float, float]:
    """Return the mean chance of a workable dough: of the 15th where windows rest, of the 10th where they move.

    Parameters
    ----------
    count : int
        Makers a world.
    chance : float
        How likely a window that moves is held to be before the first dough.
    heeded : float
        By which share of what is then believed a movement counts where a dough is made.
    """
    at_rest, moving = (_with_seasons(world, count, chance, heeded) for world in WORLDS[:2])
    return float(at_rest[14]), float(moving[9])


def _with_seasons(world: World, count: int, chance: float, heeded: float) -> NDArray[np.float64]:
    """Return the mean chance of a workable dough, by dough."""
    everyone, moves = makers(world, count), WORLDS[1]
    phases = np.arange(_PHASES) / _PHASES
    swing = [moves.season * np.sin(2 * np.pi * (place / DOUGHS_A_YEAR + phases)) for place in range(17)]
    waves = 2 * np.pi * np.fft.rfftfreq(len(_GRID), _GRID[1] - _GRID[0])
    start = _GRID - swing[0][:, None]
    sds = _centre_sds(everyone)
    resting = np.exp(-0.5 * (_GRID / sds[:, None]) ** 2)
    moved = np.exp(-0.5 * (start / sds[:, None, None]) ** 2)
    resting *= (1.0 - chance) / resting.sum(axis=1, keepdims=True)
    moved *= chance / moved.sum(axis=(1, 2), keepdims=True)
    index, found = np.zeros(count), []
    for place in range(15):
        at = zip(everyone, index.tolist(), strict=True)
        found.append(np.mean([one.chance(place, where) for one, where in at]))
        likely = _likelihood(everyone, place, index)
        resting, moved = resting * likely, moved * likely[:, None]
        whole = resting.sum(axis=1) + moved.sum(axis=(1, 2))
        resting, moved = resting / whole[:, None], moved / whole[:, None, None]
        on = (swing[place + 1] - swing[place])[:, None]
        shifted = np.exp(-1j * waves * on - 0.5 * (waves * moves.drift) ** 2)
        moved = np.maximum(np.fft.irfft(np.fft.rfft(moved) * shifted, n=len(_GRID)), 0.0)
        index = _likeliest(resting + heeded * moved.sum(axis=1))
    return np.array(found)


def _likelihood(everyone: Sequence[Maker], place: int, index: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return how likely each maker's report of a dough is, by where the window lies [makers, window]."""
    reports = [one.report(place, at) - 1 for one, at in zip(everyone, index.tolist(), strict=True)]
    return np.asarray(_chances(index[:, None] - _GRID)[reports, np.arange(len(everyone))])


def _centre_sds(everyone: Sequence[Maker]) -> NDArray[np.float64]:
    demands = np.array([BOOK.ingredients[key].uptake_sd for key in POWDERS])
    blends = np.array([list(one.shares.values()) for one in everyone])
    return np.asarray(np.sqrt(BOOK.dough.prior.centre_sd**2 + ((blends * demands) ** 2).sum(axis=1)))


if __name__ == "__main__":
    asked = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    for learning, way in ((False, "each made where likeliest"), (True, "all but the last made to learn")):
        print(f"{way}: {last_dough(asked, learning=learning):.3f}")
    shrinking = course(*walks(WORLDS[1], "steps shrinking with the doughs", asked)).workable[TOLD.index(10)]
    print(f"shrinking steps where windows move, dough 10: {shrinking:.3f}")
    for chance, heeded in ((0.5, 1.0), (0.25, 1.0), (0.5, 0.3), (0.25, 0.3)):
        rest, moving = rest_or_season(asked, chance, heeded)
        print(
            f"a movement of chance {chance} counts {heeded}: at rest dough 15 {rest:.3f}, moving dough 10 {moving:.3f}"
        )
