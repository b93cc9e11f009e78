"""Gathers pairs of a name and a value by name: added up, the greatest of each, or all of them."""

from collections.abc import Hashable, Iterable
from typing import TypeVar

Name = TypeVar("Name", bound=Hashable)
Value = TypeVar("Value")


def summed(parts: Iterable[tuple[Name, float]]) -> dict[Name, float]:
    """Return the sum of each name, in the order the names came.

    Examples
    --------
    >>> summed([("clay", 1.0), ("starch", 4.0), ("clay", 2.0)])
    {'clay': 3.0, 'starch': 4.0}
    """
    sums: dict[Name, float] = {}
    for name, part in parts:
        sums[name] = sums.get(name, 0.0) + part
    return sums


def greatest(parts: Iterable[tuple[Name, float]]) -> dict[Name, float]:
    """Return the greatest of each name, at least 0.

    Examples
    --------
    >>> greatest([("clay", 2.0), ("starch", -1.0), ("clay", 1.0)])
    {'clay': 2.0, 'starch': 0.0}
    """
    return {name: max(0.0, *of) for name, of in grouped(parts).items()}


def grouped(parts: Iterable[tuple[Name, Value]]) -> dict[Name, list[Value]]:
    """Return the values of each name, in the order they came.

    Examples
    --------
    >>> grouped([("liquid", "water"), ("powder", "clay"), ("liquid", "betaine")])
    {'liquid': ['water', 'betaine'], 'powder': ['clay']}
    """
    found: dict[Name, list[Value]] = {}
    for name, value in parts:
        found.setdefault(name, []).append(value)
    return found
