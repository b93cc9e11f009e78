"""Lets makers work through their doughs, and counts what came of it."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from advisor.learning import Dough

from .strategies import STRATEGIES, oracle, window
from .worlds import CLASSES, LAST_DOUGH, WORKABLE, Maker, World, makers

TOLD = (1, 2, 3, 5, 10, 15)
COVERED = (10, LAST_DOUGH)
LEVEL = 0.8
_CORRECTED = 15


@dataclass(frozen=True)
class Course:
    """What became of the makers of one world under one strategy.

    ``workable`` is the mean chance of a workable dough, by dough; ``until`` the mean number of doughs up to
    the first that was called workable; ``never`` how many makers had none.
    """

    workable: tuple[float, ...]
    until: float
    never: int


@dataclass(frozen=True)
class Trust:
    """How often the interval holds the centre of the next dough, by doughs, and how far chances are off."""

    coverage: dict[int, float]
    calibration_error: float


def course(world: World, strategy: str, count: int) -> Course:
    """Let makers correct one recipe by one strategy."""
    chances, first = [], []
    for maker in makers(world, count):
        walk = walked(maker, strategy, _CORRECTED)
        chances.append([maker.chance(place, one.log_index) for place, one in enumerate(walk)])
        good = [place for place, one in enumerate(walk, 1) if one.outcome == WORKABLE + 1]
        first.append(good[0] if good else 0)
    found = np.array(chances)
    reached = [one for one in first if one]
    return Course(
        workable=tuple(float(found[:, dough - 1].mean()) for dough in TOLD),
        until=float(np.mean(reached)) if reached else float("nan"),
        never=first.count(0),
    )


def trust(world: World, count: int) -> Trust:
    """Hold what this tool believes along its own course against what is true."""
    inside = dict.fromkeys(COVERED, 0)
    said: list[float] = []
    true: list[float] = []
    for maker in makers(world, count):
        walk = walked(maker, "this tool", LAST_DOUGH)
        for doughs in range(2, LAST_DOUGH + 1):
            if doughs not in COVERED and doughs % 3:
                continue
            learned = window(maker, walk[:doughs])
            low, high = learned.interval(maker.shares, LEVEL)
            if doughs in COVERED:
                inside[doughs] += low <= maker.centres[doughs] <= high
            if doughs < LAST_DOUGH:
                index = walk[doughs].log_index
                said.append(learned.chances(index, maker.shares)[WORKABLE])
                true.append(maker.chance(doughs, index))
    return Trust({doughs: held / count for doughs, held in inside.items()}, calibration_error(said, true))


def calibration_error(said: Sequence[float], true: Sequence[float]) -> float:
    """Return the expected calibration error over ten equal classes of what was said [-].

    Examples
    --------
    >>> round(calibration_error([0.1, 0.1, 0.5], [0.2, 0.0, 0.8]), 3)
    0.1
    """
    classes = np.minimum((10 * np.array(said)).astype(int), 9)
    off = np.array(said) - np.array(true)
    return float(sum(abs(off[classes == one].sum()) for one in range(10)) / len(off))


def walked(maker: Maker, strategy: str, doughs: int) -> list[Dough]:
    """Return the doughs of a maker who goes by a strategy."""
    choose = STRATEGIES[strategy]
    walk: list[Dough] = []
    index = float(maker.centres[0]) if choose is oracle else 0.0
    for place in range(doughs):
        walk.append(Dough(index, maker.shares, maker.report(place, index)))
        index = choose(maker, walk)
    return walk


def classes_told() -> str:
    """Return the borders of the classes and the spread the makers have, for a reader."""
    borders = ", ".join(f"{100 * border:+.1f}" for border in CLASSES.thresholds)
    return f"borders of the words at {borders} % of the wetness, errors of {100 * CLASSES.spread:.0f} %"
