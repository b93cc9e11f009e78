"""Finds which demands exclude each other."""

from collections.abc import Callable, Sequence
from typing import TypeVar

from advisor.frozen import replace
from advisor.optimise.problem import Problem
from advisor.optimise.row import Row
from advisor.optimise.session import Session

Demand = TypeVar("Demand")


def irreducible(demands: Sequence[Demand], possible: Callable[[Sequence[Demand]], bool]) -> list[Demand]:
    """Return a subset that is impossible together while every smaller part of it is possible.

    Parameters
    ----------
    demands : sequence
        Impossible together; those that may be given up first stand first.
    possible : callable
        Tells whether some of the demands can be met together.

    Examples
    --------
    >>> irreducible([1, 2, 3, 4, 5], lambda kept: not {2, 5} <= set(kept))
    [2, 5]
    """

    def shrink(before: list[Demand], part: list[Demand], after: list[Demand]) -> list[Demand]:
        if not possible(before + after):
            return []
        if len(part) == 1:
            return part
        half = len(part) // 2
        left = shrink(before, part[:half], part[half:] + after)
        right = shrink(before + left, part[half:], after)
        return left + right

    return shrink([], list(demands), [])


def conflicting_rows(problem: Problem, background: Sequence[Row], order: Sequence[Row]) -> list[Row]:
    """Return the irreducible rows of ``order`` (first to give up first) that the background excludes.

    Nothing is returned where they can all be met together.
    """

    def possible(rows: Sequence[Row]) -> bool:
        hard = Problem(problem.starts, rows=[replace(row, penalty=None) for row in (*background, *rows)])
        return Session(hard).solve() is not None

    return [] if possible(order) else irreducible(order, possible)
