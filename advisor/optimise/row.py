"""The linear row: the same object checks a recipe, constrains the program and explains."""

import math
from collections.abc import Iterable, Mapping
from typing import Literal

from advisor.frozen import dataclass

TOLERANCE = 1e-9


def weighed(coefficients: Mapping[str, float], amounts: Mapping[str, float]) -> float:
    """Return the sum of amounts, each by its coefficient.

    Examples
    --------
    >>> weighed({"betaine": 0.3, "isethionate": 0.84}, {"betaine": 10.0, "kaolin": 90.0})
    3.0
    """
    few, many = (coefficients, amounts) if len(coefficients) <= len(amounts) else (amounts, coefficients)
    total = 0.0
    for key in few:
        if key in many:
            total += few[key] * many[key]
    return total


@dataclass(frozen=True, slots=True)
class Row:
    """One linear demand ``sum(coefficient * amount) + each * sum(amount)  <=, >= or =  bound``.

    Parameters
    ----------
    name : str
        Unique within a problem; carries the origin of the demand.
    coefficients : mapping of str to float
        By material; a material that is not named has the coefficient 0.
    sense : {"<=", ">=", "="}
    bound : float
    penalty : float, optional
        Price of one unit of violation; None means that the row may not be violated.
    each : float
        What every material counts besides, named or not: where the whole grows, a share of it.

    Raises
    ------
    ValueError
        An equation has a penalty: it is missed on two sides, as two rows are.

    Examples
    --------
    >>> strength = Row("active:min", {"betaine": 0.3, "isethionate": 0.84}, ">=", 40.0)
    >>> round(strength.gap({"betaine": 20.0, "isethionate": 40.0}), 9)
    0.4
    """

    name: str
    coefficients: Mapping[str, float]
    sense: Literal["<=", ">=", "="]
    bound: float
    penalty: float | None = None
    each: float = 0.0

    def __post_init__(self) -> None:
        """Refuse an equation that may be missed."""
        if self.sense == "=" and self.penalty is not None:
            raise ValueError(f"{self.name}: an equation that may be missed is two rows.")

    def value(self, amounts: Mapping[str, float]) -> float:
        """Return the left-hand side at these amounts."""
        named = weighed(self.coefficients, amounts)
        return named + self.each * sum(amounts.values()) if self.each else named

    def per(self, unit: float, penalty: float | None = None) -> "Row":
        """Return the same demand counted in units of ``unit``.

        Examples
        --------
        >>> Row("water:max", {"water": 1.0}, "<=", 12.0, each=-0.5).per(2.0)
        Row(name='water:max', coefficients={'water': 0.5}, sense='<=', bound=6.0, penalty=None, each=-0.25)
        """
        coefficients = {key: c / unit for key, c in self.coefficients.items()}
        return Row(self.name, coefficients, self.sense, self.bound / unit, penalty, self.each / unit)

    def gap(self, amounts: Mapping[str, float]) -> float:
        """Return by how much these amounts break the row; 0.0 where they meet it."""
        return self.excess(self.value(amounts))

    def excess(self, value: float) -> float:
        """Return by how much a left-hand side breaks the row."""
        over = value - self.bound
        if self.sense == "<=":
            return over if over > 0.0 else 0.0
        if self.sense == ">=":
            return -over if over < 0.0 else 0.0
        return abs(over)

    def priced(self, penalty: float | None) -> "Row":
        """Return the same demand at another price of its violation."""
        return Row(self.name, self.coefficients, self.sense, self.bound, penalty, self.each)

    @property
    def lower(self) -> float:
        """The least left-hand side allowed."""
        return -math.inf if self.sense == "<=" else self.bound

    @property
    def upper(self) -> float:
        """The greatest left-hand side allowed."""
        return math.inf if self.sense == ">=" else self.bound


def refuse_growing(rows: Iterable[Row]) -> None:
    """Refuse rows over a whole that grows, where only those over named materials are read.

    Raises
    ------
    ValueError

    Examples
    --------
    >>> refuse_growing([Row("water:max", {"water": 1.0}, "<=", 0.0, each=-0.12)])
    Traceback (most recent call last):
    ...
    ValueError: water:max: every material counts in it, and here the whole is fixed.
    """
    for row in rows:
        if row.each:
            raise ValueError(f"{row.name}: every material counts in it, and here the whole is fixed.")
