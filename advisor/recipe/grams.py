"""Grams as a maker writes them."""

from collections.abc import Iterable
from decimal import Decimal

_EXACT_DIGITS = 6


def of_steps(count: int, step: float) -> float:
    """Return so many steps of a balance in grams, as a balance shows them.

    Examples
    --------
    >>> of_steps(3, 0.1)
    0.3
    """
    return float(count * Decimal(repr(step)))


def exact_grams(grams: float) -> float:
    """Return grams to a millionth, finer than any balance.

    Examples
    --------
    >>> exact_grams(1 / 3)
    0.333333
    """
    return round(grams, _EXACT_DIGITS)


def listed(words: Iterable[str]) -> str:
    """Return words as a list in a sentence.

    Examples
    --------
    >>> listed(["2 g clay", "1 g starch", "0.1 g oil"])
    '2 g clay, 1 g starch and 0.1 g oil'
    """
    *most, last = words
    return f"{', '.join(most)} and {last}" if most else last
