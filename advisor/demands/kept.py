"""What a recipe keeps of itself: washing matter, balance, and what makes the cheapest bar this bar."""

from collections.abc import Iterable, Iterator

from advisor.demands.context import DemandContext, line_demand
from advisor.demands.use import freed
from advisor.recipe.demand import Demand, Group, Kind, Measure, Rank
from advisor.schema.base import Basis


def washing_kept(
    of: DemandContext, share: float, basis: Basis, *, kind: Kind = "wish", rank: Rank = "dough"
) -> Iterator[Demand]:
    """Return that the washing matter stays within a share of itself."""
    measure = of.measures.primary_active
    yield from _kept(of, "primary-active", "washing active matter", measure, share, "", basis, kind, rank)


def balance_kept(
    of: DemandContext, share: float, basis: Basis, *, kind: Kind = "wish", rank: Rank = "dough"
) -> Iterator[Demand]:
    """Return that the ratio of anionic to amphoteric matter stays within a share of itself."""
    name, why = "anionic to amphoteric active matter", ": the amphoteric partner makes an anionic mild"
    yield from _kept(of, "balance", name, of.measures.balance, share, why, basis, kind, rank)


def _kept(
    of: DemandContext,
    group: Group,
    name: str,
    measure: Measure,
    share: float,
    why: str,
    basis: Basis,
    kind: Kind,
    rank: Rank,
    moved: tuple[float, float] = (1.0, 1.0),
) -> Iterator[Demand]:
    """Return that a measure stays within a share of itself; ``moved`` widens its low and its high end."""
    own = measure.of(of.amounts)
    if not own:
        return
    yield Demand(
        id=group,
        group=group,
        name=name,
        measure=measure,
        unit="%" if measure.bottom is None else "1",
        kind=kind,
        rank=rank,
        minimum=own * min(moved) * (1 - share),
        maximum=own * max(moved) * (1 + share),
        basis=basis,
        source=f"as before, within {100 * share:g} %{why}",
    )


def same_bar(of: DemandContext, moved: float) -> Iterator[Demand]:
    """Return what makes the cheapest bar still this bar.

    Parameters
    ----------
    of : DemandContext
    moved : float
        By which factor a report moves the wetting index [-].

    Notes
    -----
    A row gives way where the maker gave both ends to every line it rests on; the washing matter where a
    strength was wished besides.
    """
    rules, measures = of.program.same_bar, of.measures
    basis = rules.basis
    if not (of.wishes.active and _all_freed(measures.primary_active.top, of)):
        yield from washing_kept(of, rules.primary_share, basis, kind="advice", rank="default")
    if not _all_freed({**measures.balance.top, **(measures.balance.bottom or {})}, of):
        yield from balance_kept(of, rules.balance_share, basis, kind="advice", rank="default")
    yield from _not_harsher(of)
    kept: tuple[tuple[Group, str, Measure, float, tuple[float, float]], ...] = (
        ("humectant", "humectants", measures.humectants, rules.humectant_share, (1.0, 1.0)),
        ("ratio", "liquid to powder", measures.liquid_to_powder, rules.liquid_share, (1.0, moved)),
        ("structure", "what stiffens", measures.of_role("structurant"), rules.structurant_share, (1.0, 1.0)),
    )
    for group, name, measure, share, factor in kept:
        if not _all_freed({**measure.top, **(measure.bottom or {})}, of):
            yield from _kept(of, group, name, measure, share, "", basis, "advice", "default", factor)
    yield from _fillers(of)
    if measures.oils.top:
        most = (1 + rules.oil_share) * (measures.oils.of(of.amounts) or 0.0)
        yield _at_most(of, "oil", "oils", measures.oils, most, "as before: oil binds no grains")
    yield from _nothing_new(of)
    yield from _water_last(of)


def is_same_bar(demand: Demand) -> bool:
    """Tell whether a demand is one of those that keep the cheapest bar what it was."""
    return demand.rank == "default" and demand.kind == "advice"


def _all_freed(keys: Iterable[str], of: DemandContext) -> bool:
    used = [key for key in keys if of.amounts[key]]
    return bool(used) and all(freed(key, of) for key in used)


def _at_most(of: DemandContext, group: Group, name: str, measure: Measure, most: float, why: str) -> Demand:
    return Demand(
        id=group,
        group=group,
        name=name,
        measure=measure,
        unit="%" if measure.bottom is None else "1",
        kind="advice",
        rank="default",
        maximum=most,
        basis=of.program.same_bar.basis,
        source=why,
    )


def _not_harsher(of: DemandContext) -> Iterator[Demand]:
    measure = of.measures.mildness
    own = measure.of(of.amounts)
    if own:
        most = own * (1 + of.program.same_bar.mildness_room)
        yield _at_most(of, "mildness", "rank of mildness", measure, most, "as before: not harsher")


def _fillers(of: DemandContext) -> Iterator[Demand]:
    rules, measure = of.program.same_bar, of.measures.of_role("filler")
    own = measure.of(of.amounts) or 0.0
    if measure.top:
        most = max(own, min(own + rules.fillers_up, rules.fillers_at_most))
        why = f"up by at most {rules.fillers_up:g} points, and to {rules.fillers_at_most:g} %"
        yield _at_most(of, "fillers", "fillers", measure, most, why)


def _nothing_new(of: DemandContext) -> Iterator[Demand]:
    """Return that no kind comes in that was not there, that no grain gets coarser."""
    measures = of.measures
    kinds: tuple[tuple[Group, str, Measure], ...] = (
        ("humectant", "humectants", measures.humectants),
        ("structure", "what stiffens", measures.of_role("structurant")),
    )
    for group, name, measure in kinds:
        if measure.top and not measure.of(of.amounts):
            yield _at_most(of, group, name, measure, 0.0, "none, as before")
    coarse = measures.coarse_share
    own_coarse = coarse.of(of.amounts)
    if coarse.top and own_coarse is not None:
        yield _at_most(
            of, "coarse", "coarse powder, as before", coarse, own_coarse, "its grains stay as fine"
        )


def _water_last(of: DemandContext) -> Iterator[Demand]:
    for key, one in of.ingredients.items():
        if one.main_role == "water" and key not in of.wishes.lines:
            yield line_demand(
                key,
                None,
                of.amounts[key],
                group="water",
                kind="advice",
                rank="default",
                name=f"{one.name}, the last choice",
                basis=of.program.same_bar.basis,
                source="water costs nothing and cleans nothing",
                shown_when_met=False,
            )
