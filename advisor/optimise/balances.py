"""Shares a batch out in whole steps of one or two balances, and proves it."""

import math
from collections.abc import Iterable, Mapping, Sequence
from contextlib import suppress
from fractions import Fraction

from advisor.errors import SolverError
from advisor.frozen import dataclass
from advisor.optimise.rounding import Grid, search, swap_repair
from advisor.optimise.row import Row


def units_per_gram(steps: Iterable[float]) -> int:
    """Return how many of the largest common unit of one gram and some balance steps make a gram.

    Examples
    --------
    >>> units_per_gram([0.1, 0.01]), units_per_gram([5.0]), units_per_gram([0.25])
    (100, 1, 4)
    """
    return math.lcm(*(Fraction(repr(step)).denominator for step in steps))


def in_units(grams: float, per_gram: int) -> int:
    """Return grams that are a multiple of the unit as a count of it."""
    return round(Fraction(repr(grams)) * per_gram)


@dataclass(frozen=True, slots=True)
class Share:
    """What a batch is shared out to.

    Parameters
    ----------
    wanted : mapping of str to float
        Exact amounts [units].
    steps : mapping of str to int
        The step of the balance each line is weighed on [units]; no line gets less than one.
    total : int
        What all add up to [units].
    per_gram : int
        Units to a gram.
    held : frozenset of str
        Lines that stay at the step nearest to them while others can move.
    """

    wanted: Mapping[str, float]
    steps: Mapping[str, int]
    total: int
    per_gram: int
    held: frozenset[str] = frozenset()

    @property
    def free(self) -> list[str]:
        """The lines that move first, in canonical order."""
        return [key for key in sorted(self.wanted) if key not in self.held] or sorted(self.wanted)


def share_out(share: Share) -> dict[str, int] | None:
    """Return whole steps near the wanted amounts that add up to the total; None where no steps do.

    What rounding leaves over goes, a step at a time, to the lines that are furthest from what they should
    be; with two balances the largest line of the finer one takes what the coarser cannot weigh.

    Examples
    --------
    >>> wanted = {"clay": 603.4, "oil": 390.3, "scent": 6.3}
    >>> share_out(Share(wanted, {"clay": 10, "oil": 1, "scent": 1}, 1000, 1))
    {'clay': 600, 'oil': 394, 'scent': 6}
    """
    steps = share.steps
    units = {key: steps[key] * max(1, round(wanted / steps[key])) for key, wanted in share.wanted.items()}
    left = share.total - sum(units.values())
    coarse, fine = max(steps.values()), min(steps.values())
    about, reach = round(left / coarse), fine // math.gcd(coarse, fine)
    tries = [n for n in range(about - reach, about + reach + 1) if (left - n * coarse) % fine == 0]
    if not tries:
        return None
    turn = min(tries, key=lambda n: (abs(left - n * coarse), n))
    started = _moved(units, share, [_on(coarse, share.free, steps), _on(coarse, sorted(units), steps)], turn)
    if started is None:
        return None
    rest = (left - turn * coarse) // fine
    making_up = sorted(_on(fine, share.free, steps), key=lambda key: (-units[key], key))[:1]
    return _moved(started, share, [making_up, _on(fine, sorted(units), steps)], rest)


def _on(step: int, keys: Sequence[str], steps: Mapping[str, int]) -> list[str]:
    return [key for key in keys if steps[key] == step]


def _moved(
    units: Mapping[str, int], share: Share, choices: Sequence[Sequence[str]], count: int
) -> dict[str, int] | None:
    """Move ``count`` steps onto lines (off them where negative), each onto the one furthest off.

    ``choices`` holds the lines to move, the preferred ones first; the next ones only when none of those can.
    """
    moved = dict(units)
    sign = 1 if count > 0 else -1
    for _ in range(abs(count)):
        able = ([key for key in lines if sign > 0 or moved[key] > share.steps[key]] for lines in choices)
        open_lines = next((lines for lines in able if lines), None)
        if open_lines is None:
            return None
        chosen = max(
            open_lines,
            key=lambda key: (
                sign * (share.wanted[key] - moved[key]) / share.steps[key],
                share.wanted[key],
                key,
            ),
        )
        moved[chosen] += sign * share.steps[chosen]
    return moved


def weigh_out(share: Share, ladder: Sequence[Sequence[Row]]) -> dict[str, int] | None:
    """Return whole steps that meet the first set of rows of a ladder that can be met, the strictest first.

    Parameters
    ----------
    share : Share
    ladder : sequence of sequences of Row
        Sets of rows in grams, each next one easier; the last may be empty.

    Returns
    -------
    dict of str to int
        Units by line; None where no whole steps add up to the total at all.

    Examples
    --------
    >>> share = Share({"a": 33.4, "b": 66.6}, {"a": 1, "b": 1}, 100, 1)
    >>> weigh_out(share, [[Row("a", {"a": 1.0}, ">=", 33.4)]])
    {'a': 34, 'b': 66}
    """
    begun = share_out(share)
    grid = Grid(share.per_gram, share.total)
    every = sorted(share.wanted)
    groups = [share.free] if share.free == every else [share.free, every]
    for rows in ladder:
        for movable in groups:
            if begun is not None:
                found = swap_repair(begun, share.wanted, rows, share.per_gram, share.steps, movable)
                if found is not None:
                    return found
        for movable in groups:
            with suppress(SolverError):
                found = search(share.wanted, rows, grid, movable, share.steps)
                if found is not None:
                    return found
    return begun
