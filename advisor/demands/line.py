"""A demand on one line of a recipe."""

from collections.abc import Mapping

from advisor.recipe.demand import Demand, Group, Kind, Measure, Rank, Side


def line_demand(
    key: str,
    low: float | None,
    high: float | None,
    *,
    group: Group,
    kind: Kind,
    rank: Rank,
    name: str = "",
    basis: str,
    source: str = "",
    where: Mapping[Side, str] | None = None,
    shown_when_met: bool = True,
) -> Demand:
    """Return a demand on the percent of one material."""
    return Demand(
        id=f"{group}:{key}",
        group=group,
        name=name or key,
        measure=Measure({key: 1.0}, None, 100.0),
        unit="%",
        kind=kind,
        rank=rank,
        minimum=low,
        maximum=high,
        about=(key,),
        basis=basis,
        source=source,
        where=where,
        shown_when_met=shown_when_met,
    )
