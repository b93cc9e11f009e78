"""Shares an addition out to the parts it is fed in."""

import math
from collections.abc import Mapping

from advisor.rulebook.bowl import BowlStages

_HALVINGS = 50
_TURN = 1e-6


def portion_at_most(bowl_grams: float, rules: BowlStages) -> float:
    """Return the most that is fed at a time [g].

    Examples
    --------
    >>> from advisor.rulebook.load import load_rulebook
    >>> rules = load_rulebook().bowl.stages
    >>> portion_at_most(100.0, rules), portion_at_most(1000.0, rules)
    (2.0, 10.0)
    """
    return max(rules.grams_at_most, rules.share_at_most * bowl_grams)


def in_stages(counts: Mapping[str, int], parts: int, most: int) -> list[dict[str, int]]:
    """Share steps out to equal parts, as many as are wanted or as keep each within ``most`` steps.

    Parameters
    ----------
    counts : mapping of str to int
        Steps of each material.
    parts : int
        Parts that are wanted, 1 or more; there are fewer where there are fewer steps.
    most : int
        Most steps of one part, 1 or more.

    Examples
    --------
    >>> in_stages({"clay": 9, "starch": 3}, 3, 100)
    [{'clay': 3, 'starch': 1}, {'clay': 3, 'starch': 1}, {'clay': 3, 'starch': 1}]
    >>> in_stages({"clay": 2}, 3, 100), [sum(part.values()) for part in in_stages({"clay": 9}, 3, 2)]
    ([{'clay': 1}, {'clay': 1}], [1, 2, 2, 2, 2])
    """
    total = sum(counts.values())
    number = min(total, max(parts, math.ceil(total / most)))
    while number < total and max(sum(part.values()) for part in _shared(counts, number)) > most:
        number += 1
    return [part for part in _shared(counts, number) if part]


def _shared(counts: Mapping[str, int], number: int) -> list[dict[str, int]]:
    """Share steps out to so many parts of a size; materials take turns within them."""
    total, before = sum(counts.values()), dict.fromkeys(counts, 0)
    stages = []
    for place in range(1, number + 1):
        ends = dict(counts) if place == number else _fed(counts, total * place // number)
        stages.append({key: ends[key] - before[key] for key in ends if ends[key] > before[key]})
        before = ends
    return stages


def _fed(counts: Mapping[str, int], at_most: int) -> dict[str, int]:
    """Return what of each material is in when so many steps are, each in proportion."""
    low, high = 0.0, 1.0
    ends = dict.fromkeys(counts, 0)
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        tried = {
            key: math.floor(count * middle + 0.5 - place * _TURN)
            for place, (key, count) in enumerate(sorted(counts.items()))
        }
        if sum(tried.values()) <= at_most:
            low, ends = middle, tried
        else:
            high = middle
    return ends
