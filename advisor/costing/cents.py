"""Money to the cent: parts that add up to their whole."""

from collections.abc import Mapping

from advisor.optimise.rounding import largest_remainder

_CENTS = 100


def to_the_cent(parts: Mapping[str, float], whole: float) -> dict[str, float]:
    """Return parts rounded to the cent so that they add up to the whole, rounded as well.

    Examples
    --------
    >>> to_the_cent({"clay": 0.714, "starch": 1.874, "oil": 0.584}, 3.172)
    {'clay': 0.71, 'starch': 1.88, 'oil': 0.58}
    """
    exact = {name: _CENTS * value for name, value in parts.items()}
    shared = largest_remainder(exact, round(_CENTS * whole))
    return {name: count / _CENTS for name, count in shared.items()}
