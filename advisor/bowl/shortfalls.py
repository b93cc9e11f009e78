"""Says by how much a bowl misses what is asked of it."""

from collections.abc import Iterable, Mapping

from advisor.bowl.schema import Shortfall
from advisor.optimise.problem import CERTIFIED
from advisor.recipe.demand import Demand
from advisor.schema.base import WHOLE


def shortfalls(demands: Iterable[Demand], amounts: Mapping[str, float]) -> list[Shortfall]:
    """Return every demand that amounts [any unit] miss, by how much and at which bound."""
    found = []
    for demand in demands:
        value, by = demand.measure.of(amounts), demand.gap(amounts)
        if value is None or by <= CERTIFIED:
            continue
        under = demand.minimum is not None and value < demand.minimum
        bound = demand.minimum if under else demand.maximum
        found.append(
            Shortfall(
                demand=demand.name,
                by=float(f"{by:.3g}"),
                unit=demand.unit,
                bound=round(bound or 0.0, 4),
                value=round(value, 4),
                state=demand.state,
            )
        )
    return found


def in_percent(amounts: Mapping[str, float]) -> dict[str, float]:
    """Return amounts as percent of their sum.

    Examples
    --------
    >>> in_percent({"clay": 30.0, "oil": 10.0})
    {'clay': 75.0, 'oil': 25.0}
    """
    whole = sum(amounts.values())
    return {key: WHOLE * amount / whole for key, amount in amounts.items()}
