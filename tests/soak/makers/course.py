"""Lets makers work through their doughs, and counts what came of it."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from advisor.learning import Dough

from .strategies import STRATEGIES, optimiser, window
from .worlds import CLASSES, LAST_DOUGH, WORKABLE, Maker, World, makers

TOLD = (1, 2, 3, 5, 10, 15)
COVERED = (10, LAST_DOUGH)
LEVEL = 0.8
ASKED_AFTER = tuple(doughs for doughs in range(2, LAST_DOUGH + 1) if doughs in COVERED or doughs % 3 == 0)
_CORRECTED = 15
_FOR_THE_OPTIMISER = 250


@dataclass(frozen=True)
class Course:
    """What became of the makers of one world under one strategy.

    ``workable`` is the mean chance of a workable dough, by dough; ``until`` the mean number of doughs up to
    the first that was called workable; ``never`` how many of ``makers`` had none.
    """

    workable: tuple[float, ...]
    until: float
    never: int
    makers: int


@dataclass(frozen=True)
class Trust:
    """How often the interval holds the centre of the next dough, by doughs, and how far chances are off."""

    coverage: dict[int, float]
    calibration_error: float


def courses(world: World, count: int) -> tuple[dict[str, Course], Trust]:
    """Let makers correct one recipe by every strategy, and hold what this tool believes against what is true."""
    everyone, long = walks(world, "this tool", count, LAST_DOUGH)
    found = {"this tool": course(everyone, [walk[:_CORRECTED] for walk in long])}
    for name in list(STRATEGIES)[1:]:
        few = min(count, _FOR_THE_OPTIMISER) if STRATEGIES[name] is optimiser else count
        found[name] = course(*walks(world, name, few))
    return found, trust(everyone, long)


def walks(
    world: World, strategy: str, count: int, doughs: int = _CORRECTED
) -> tuple[list[Maker], list[list[Dough]]]:
    """Return makers of a world with the doughs they make by a strategy."""
    everyone = makers(world, count)
    return everyone, [walked(maker, strategy, doughs) for maker in everyone]


def course(everyone: Sequence[Maker], walks: Sequence[Sequence[Dough]]) -> Course:
    """Return what became of makers by their doughs."""
    chances, first = [], []
    for maker, walk in zip(everyone, walks, strict=True):
        chances.append([maker.chance(place, one.log_index) for place, one in enumerate(walk)])
        good = [place for place, one in enumerate(walk, 1) if one.outcome == WORKABLE + 1]
        first.append(good[0] if good else 0)
    found = np.array(chances)
    reached = [one for one in first if one]
    return Course(
        workable=tuple(float(found[:, dough - 1].mean()) for dough in TOLD),
        until=float(np.mean(reached)) if reached else float("nan"),
        never=first.count(0),
        makers=len(first),
    )


def trust(everyone: Sequence[Maker], walks: Sequence[Sequence[Dough]]) -> Trust:
    """Hold what this tool believes along its own course against what is true."""
    inside = dict.fromkeys(COVERED, 0)
    said: list[float] = []
    true: list[float] = []
    for maker, walk in zip(everyone, walks, strict=True):
        for doughs in ASKED_AFTER:
            learned = window(maker, walk[:doughs])
            if doughs in COVERED:
                low, high = learned.interval(maker.shares, LEVEL)
                inside[doughs] += low <= maker.centres[doughs] <= high
            if doughs < LAST_DOUGH:
                index = walk[doughs].log_index
                said.append(learned.chances(index, maker.shares)[WORKABLE])
                true.append(maker.chance(doughs, index))
    held = {doughs: held / len(walks) for doughs, held in inside.items()}
    return Trust(held, calibration_error(said, true))


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
    for place in range(doughs):
        index = choose(maker, walk)
        walk.append(Dough(index, maker.shares, maker.report(place, index)))
    return walk


def classes_told() -> str:
    """Return the borders of the classes and the spread the makers have, for a reader."""
    borders = ", ".join(f"{100 * border:+.1f}" for border in CLASSES.thresholds)
    return f"borders of the words at {borders} % of the wetness, errors of {100 * CLASSES.spread:.0f} %"
