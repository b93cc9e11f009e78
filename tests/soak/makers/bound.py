"""How good the fifteenth dough can be at all: everything is known but where the window lies, or how it moves as well.

Usage: python -m tests.soak.makers.bound [makers]. The makers of the first world, their errors and words known for
certain, hold the exact posterior of one unknown on a grid. One way makes each dough where it is likeliest workable,
the other makes all but the last where the report tells most. No way to choose doughs can do better than the second
at the last of them, but for what telling most in one dough leaves to be gained by planning several.

Then makers do not know whether their window rests or moves as in the world of the slow drift, of which they know
all but the season they begin in: what a dough gains where windows rest it loses where they move. The tool knows
neither errors, words nor seasons, so it cannot do better in both.

At last the doughs are this tool's own, in the worlds of usual, wide and narrow words and of the slow drift. Whoever
knows the errors, which three words there are and how a window moves says how likely the next dough is workable. What
is believed of words and movement before any dough is chosen so that the worst world is told least amiss.
"""

import sys
from collections.abc import Sequence
from functools import cache
from itertools import product

import numpy as np
from numpy.typing import NDArray

from advisor.learning.chances import logistic

from .course import ASKED_AFTER, TOLD, calibration_error, course, walks
from .worlds import BOOK, CLASSES, DOUGHS_A_YEAR, LAST_DOUGH, POWDERS, WORKABLE, WORLDS, Maker, World, makers

_GRID = np.arange(-240, 241) * 0.005
_TINY = 1e-300
_PHASES = 24
_Told = tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]
_MOVES = WORLDS[1]
_WORDS = tuple(sorted({world.words for world in WORLDS}))
_OF_WORDS = tuple(
    world for world in WORLDS if world is _MOVES or world == World(world.name, words=world.words)
)


@cache
def _verdicts() -> NDArray[np.float64]:
    """Return the chance of every class, by where the dough and where the window lies on the grid [classes, dough, window]."""
    return _chances(np.subtract.outer(_GRID, _GRID))


def _chances(distance: NDArray[np.float64], words: float = 1.0) -> NDArray[np.float64]:
    """Return the chance of every class, the first axis, at distances from the centre."""
    edges = np.array([-np.inf, *(words * np.array(CLASSES.thresholds)), np.inf])
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
    everyone = makers(world, count)
    window = _RestOrSeason(everyone)
    index, found = np.zeros(count), []
    for place in range(15):
        at = zip(everyone, index.tolist(), strict=True)
        found.append(np.mean([one.chance(place, where) for one, where in at]))
        window.hear(_likelihood(everyone, place, index))
        window.go_on(place)
        index = _likeliest(window.belief(chance, heeded))
    return np.array(found)


class _RestOrSeason:
    """Where each maker's window lies, exactly, if it rests and if it moves as in the world of the slow drift.

    Attributes
    ----------
    resting : ndarray
        Chance of a place of the grid if it rests [makers, window].
    moving : ndarray
        The same if it moves, with the month the doughs began in [makers, month, window].
    evidence : ndarray
        Logarithm of how likely the reports were, at rest and moving [2, makers].
    """

    def __init__(self, everyone: Sequence[Maker]) -> None:
        phases = np.arange(_PHASES) / _PHASES
        days = np.arange(LAST_DOUGH + 2)[:, None] / DOUGHS_A_YEAR
        self._swing = _MOVES.season * np.sin(2 * np.pi * (days + phases))
        self._waves = 2 * np.pi * np.fft.rfftfreq(len(_GRID), _GRID[1] - _GRID[0])
        sds = _centre_sds(everyone)
        self.resting = np.exp(-0.5 * (_GRID / sds[:, None]) ** 2)
        self.moving = np.exp(-0.5 * ((_GRID - self._swing[0][:, None]) / sds[:, None, None]) ** 2)
        self.resting /= self.resting.sum(axis=1, keepdims=True)
        self.moving /= self.moving.sum(axis=(1, 2), keepdims=True)
        self.evidence = np.zeros((2, len(everyone)))

    def hear(self, likely: NDArray[np.float64]) -> None:
        """Take a report of each maker by how likely it is [makers, window]."""
        self.resting = self.resting * likely
        self.moving = self.moving * likely[:, None]
        rest, move = self.resting.sum(axis=1), self.moving.sum(axis=(1, 2))
        self.evidence += np.log(np.maximum((rest, move), _TINY))
        self.resting /= rest[:, None]
        self.moving /= move[:, None, None]

    def go_on(self, place: int) -> None:
        """Let the windows that move go from this dough to the next."""
        on = (self._swing[place + 1] - self._swing[place])[:, None]
        shifted = np.exp(-1j * self._waves * on - 0.5 * (self._waves * _MOVES.drift) ** 2)
        self.moving = np.maximum(np.fft.irfft(np.fft.rfft(self.moving) * shifted, n=len(_GRID)), 0.0)

    def expected(self, chances: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return what is expected of chances known by place [makers, window], at rest and moving [2, makers]."""
        return np.array([(where * chances).sum(axis=1) for where in (self.resting, self.moving.sum(axis=1))])

    def belief(self, chance: float, heeded: float) -> NDArray[np.float64]:
        """Return the chance of a place of the grid, a movement of a chance before any dough counting so far."""
        weights = np.array([[1.0 - chance], [chance]]) * np.exp(self.evidence - self.evidence.max(axis=0))
        rest, move = weights / weights.sum(axis=0)
        return np.asarray(rest[:, None] * self.resting + heeded * move[:, None] * self.moving.sum(axis=1))


def least_calibration_error(count: int) -> tuple[float, tuple[float, float, float]]:
    """Return how far chances are off in the worst world at the best belief before any dough, and that belief.

    Parameters
    ----------
    count : int
        Makers a world.

    Returns
    -------
    error : float
        The expected calibration error over thirty doughs of this tool's, in the world where it is largest [-].
    belief : tuple of float
        Chances of narrow words, of wide words, and of a movement, that make it least.
    """
    told = [_told(world, count) for world in _OF_WORDS]
    shares = np.arange(0.05, 0.5, 0.02).tolist()
    tried = [one for one in product(shares, shares, (0.1, 0.2, 0.3, 0.4, 0.5)) if one[0] + one[1] < 0.9]
    errors = [max(_error(one, *belief) for one in told) for belief in tried]
    best = int(np.argmin(errors))
    return errors[best], tried[best]


def _told(world: World, count: int) -> _Told:
    """Return what is said and how likely the reports were [doughs, words, rest or season, makers], and what is true.

    What is true has no words and no season [doughs, makers].
    """
    everyone, made = walks(world, "this tool", count, LAST_DOUGH)
    windows = [_RestOrSeason(everyone) for _ in _WORDS]
    said, evidence, true = [], [], []
    for place in range(LAST_DOUGH):
        index = np.array([walk[place].log_index for walk in made])
        verdicts = [_chances(index[:, None] - _GRID, words) for words in _WORDS]
        if place in ASKED_AFTER:
            said.append([one.expected(of[WORKABLE]) for one, of in zip(windows, verdicts, strict=True)])
            evidence.append([one.evidence.copy() for one in windows])
            true.append([one.chance(place, at) for one, at in zip(everyone, index.tolist(), strict=True)])
        reports = [walk[place].outcome - 1 for walk in made]
        for window, of_class in zip(windows, verdicts, strict=True):
            window.hear(of_class[reports, np.arange(count)])
            window.go_on(place)
    return np.array(said), np.array(evidence), np.array(true)


def _error(told: _Told, narrow: float, wide: float, moving: float) -> float:
    """Return the expected calibration error of what is said by a belief in words and movement."""
    said, evidence, true = told
    before = np.outer((narrow, 1.0 - narrow - wide, wide), (1.0 - moving, moving))[:, :, None]
    weights = before * np.exp(evidence - evidence.max(axis=(1, 2), keepdims=True))
    chances = (weights * said).sum(axis=(1, 2)) / weights.sum(axis=(1, 2))
    return calibration_error(chances.ravel().tolist(), true.ravel().tolist())


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
    error, (narrow, wide, moved) = least_calibration_error(asked)
    print(
        f"chances in the worst world off by at least {error:.4f}: narrow words held to be {narrow:.2f}, "
        f"wide {wide:.2f}, a movement {moved:.2f}"
    )
