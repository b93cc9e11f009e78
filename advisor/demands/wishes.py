"""What the maker wishes: a strength, lines that stay or keep a band, shares of components."""

from collections.abc import Iterator, Mapping
from typing import Literal

from advisor.demands.context import DemandContext, line_demand
from advisor.errors import pointer_part
from advisor.frozen import replace
from advisor.recipe.demand import Demand, Measure, Side
from advisor.recipe.measures import End, Measures
from advisor.rulebook.ingredient import WATER, folded_name
from advisor.schema.recipe import Band

_Components = Literal["components", "components_dried"]


def wish_demands(of: DemandContext) -> Iterator[Demand]:
    """Return what was wished, the strength first."""
    yield active_demand(of)
    yield from _claims(of)
    for index, key in enumerate(of.wishes.fixed):
        own = of.amounts[key]
        both: Mapping[Side, str] = {"min": f"/wishes/fixed/{index}", "max": f"/wishes/fixed/{index}"}
        name = of.ingredients[key].name
        yield line_demand(
            key, own, own, name=name, group="fixed", kind="wish", rank="held", basis="wish", where=both
        )
    for key, band in of.wishes.lines.items():
        where = _sides(f"/wishes/lines/{key}")
        yield line_demand(
            key,
            band.min,
            band.max,
            name=of.ingredients[key].name,
            group="line",
            kind="wish",
            rank="wish",
            basis="wish",
            where=where,
        )
    for name, band in of.wishes.components.items():
        yield _component("components", name, band, of.measures.component(name))
    for name, band in of.wishes.components_dried.items():
        yield from _component_dried(name, band, of.measures)


def _claims(of: DemandContext) -> Iterator[Demand]:
    """Return, for each promise of the label, that nothing is used that is not known to keep it."""
    for index, claim in enumerate(of.wishes.claims):
        rules = of.claims.claim[claim]
        breaks = {key: 1.0 for key, one in of.ingredients.items() if not rules.kept_by(one.material)}
        yield Demand(
            id=f"claim:{claim}",
            group="claim",
            name=rules.name,
            measure=Measure(breaks, None, 100.0),
            unit="%",
            kind="wish",
            rank="wish",
            maximum=0.0,
            about=tuple(key for key in breaks if of.amounts[key]),
            basis=rules.basis,
            source=rules.source,
            where={"max": f"/wishes/claims/{index}"},
        )


def _component_dried(name: str, band: Band, measures: Measures) -> Iterator[Demand]:
    """Return a share of the dried bar at most and at least, each at the end of drying that is the worse."""
    most_at: End = "low" if folded_name(name) == WATER else "high"
    least_at: End = "high" if most_at == "low" else "low"
    for side, end in ((Band(max=band.max), most_at), (Band(min=band.min), least_at)):
        if side != Band():
            demand = _component("components_dried", name, side, measures.component_dried(name, end))
            yield replace(demand, id=f"{demand.id}:{end}", state="as_dried")


def _component(
    place: Literal["components", "components_dried"], name: str, band: Band, measure: Measure
) -> Demand:
    return Demand(
        id=f"{place}:{name}",
        group=place,
        name=name,
        measure=measure,
        unit="%",
        kind="wish",
        rank="wish",
        minimum=band.min,
        maximum=band.max,
        about=(name,),
        basis="wish",
        where=_sides(f"/wishes/{place}/{pointer_part(name, None)}"),
    )


def active_demand(of: DemandContext) -> Demand:
    """Return the band of the active matter: as wished, else around the recipe's own."""
    own = of.measures.active.of(of.amounts) or 0.0
    bands = of.program.bands
    default = Demand(
        id="active",
        group="active",
        name="active matter",
        measure=of.measures.active,
        unit="%",
        kind="wish",
        rank="default",
        minimum=max(0.0, own - bands.active_below),
        maximum=min(100.0, own + bands.active_above),
        basis=bands.basis,
        source="no band was wished: the recipe's own active matter within a point",
        where=_sides("/wishes/active"),
    )
    wished = of.wishes.active
    if wished is None or (wished.min is None and wished.max is None):
        return default
    return replace(
        default, rank="wish", minimum=wished.min, maximum=wished.max, basis="wish", source="your wish"
    )


def _sides(where: str) -> Mapping[Side, str]:
    return {"min": f"{where}/min", "max": f"{where}/max"}
