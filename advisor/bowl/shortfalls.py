"""Says by how much a bowl misses what is asked of it."""

from collections.abc import Iterable, Mapping

from advisor.bowl.schema import Shortfall
from advisor.frozen import replace
from advisor.optimise.problem import CERTIFIED
from advisor.recipe.demand import Demand, Measure
from advisor.schema.base import WHOLE


def shortfalls(demands: Iterable[Demand], amounts: Mapping[str, float]) -> list[Shortfall]:
    """Return every demand that amounts [any unit] miss, by how much and at which bound."""
    found = []
    for demand in demands:
        value, by = demand.measure.of(amounts), demand.gap(amounts)
        if value is None or by <= CERTIFIED:
            continue
        bound = demand.minimum if demand.minimum is not None and value < demand.minimum else demand.maximum
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


def as_weighed(demands: Iterable[Demand], grams: Mapping[str, float], step: float) -> list[Demand]:
    """Return demands as a balance keeps them: what is missed by less than one of its steps [g] does is met.

    Laws, wishes and the working level of a preservative stay as they are.
    """
    return [
        _reaching(demand, grams)
        if demand.rank not in ("law", "wish")
        and demand.group != "preserved"
        and CERTIFIED < demand.gap(grams) < _by_a_step(demand.measure, grams, step)
        else demand
        for demand in demands
    ]


def _by_a_step(measure: Measure, grams: Mapping[str, float], step: float) -> float:
    """Return by how much one step of the balance moves a measure at most."""
    now = measure.of(grams) or 0.0
    return max(abs((measure.of({**grams, key: grams[key] + step}) or 0.0) - now) for key in grams)


def _reaching(demand: Demand, grams: Mapping[str, float]) -> Demand:
    """Return a demand wide enough for what was weighed."""
    now = demand.measure.of(grams) or 0.0
    low = None if demand.minimum is None else min(demand.minimum, now)
    high = None if demand.maximum is None else max(demand.maximum, now)
    return replace(demand, minimum=low, maximum=high, source=f"{demand.source}, within a step of the balance")


def in_percent(amounts: Mapping[str, float]) -> dict[str, float]:
    """Return amounts as percent of their sum.

    Examples
    --------
    >>> in_percent({"clay": 30.0, "oil": 10.0})
    {'clay': 75.0, 'oil': 25.0}
    """
    whole = sum(amounts.values())
    return {key: WHOLE * amount / whole for key, amount in amounts.items()}
