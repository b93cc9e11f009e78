"""What is asked of a new bar besides law, wishes and usual ranges: the structure of its family."""

from collections.abc import Iterator

from advisor.demands.context import line_demand
from advisor.drafting.parts import Chosen, percent_of
from advisor.frozen import replace
from advisor.recipe.demand import Demand, Group, Measure, Rank
from advisor.recipe.measures import Measures
from advisor.rulebook.drafts import Part
from advisor.rulebook.table import Ends


def structure(chosen: Chosen, of: Measures, *, strength_wished: bool) -> Iterator[Demand]:
    """Yield the bands of a family, its parts first, the window of the dough last."""
    for part in chosen.family.part:
        yield _part(part, chosen)
    for key, told in chosen.forced.items():
        if told is not None:
            where = {"min": f"/features/{key}", "max": f"/features/{key}"}
            yield line_demand(
                key,
                told,
                told,
                group="line",
                kind="wish",
                rank="wish",
                name=chosen.usable[key].name,
                basis="wish",
                where=where,  # type: ignore[arg-type]
            )
    if not strength_wished:
        yield _band("active", "active matter", of.active, chosen.family.active, chosen, "%", rank="default")
    rules = chosen.rules.all
    cold = of.wetness("cold")
    ratio = Measure(
        {key: one.liquid_cold for key, one in of.ingredients.items() if one.liquid_cold},
        {key: powder for key, one in of.ingredients.items() if (powder := one.powder("cold"))},
    )
    yield _band("ratio", "liquid to powder", ratio, chosen.family.liquid_to_powder, chosen)
    yield _band("wetness", "how wet it is for its powders", cold, rules.wetness, chosen, rank="dough")
    yield _band("watery", "water-based part of the liquids", of.watery_share, rules.watery_share, chosen)
    yield Demand(
        id="draft:oil",
        group="draft",
        name="oil per powder",
        measure=of.oil_per_powder,
        unit="1",
        kind="dough",
        rank="dough",
        maximum=rules.oil_per_powder_at_most,
        basis=rules.basis,
        source=rules.source,
    )


def as_usual(demand: Demand, chosen: Chosen) -> Demand:
    """Return a usual range as it is written: a new bar has no amount of its own that could widen it."""
    key = next(iter(demand.about), "")
    if demand.group != "use" or chosen.forced.get(key) is not None:
        return demand
    use = chosen.usable[key].material.use
    if use is None:
        return demand
    return replace(
        demand,
        minimum=None if demand.minimum is None else use.min,
        maximum=None if demand.maximum is None else use.max,
    )


def _part(part: Part, chosen: Chosen) -> Demand:
    """Return the band of a part; what is told of a forced material widens it."""
    keys = [key for key in chosen.keys if part in chosen.filled.get(key, ())]
    shares = {key: percent_of(part, chosen.usable[key]) for key in keys}
    told = sum(shares[key] * (chosen.forced.get(key) or 0.0) for key in keys)
    return Demand(
        id=f"part:{part.name}",
        group="draft",
        name=f"{part.name} of a {chosen.family.name}",
        measure=Measure(shares, None, 100.0),
        unit="%",
        kind="dough",
        rank="advice",
        minimum=part.min if keys else None,
        maximum=max(part.max, told),
        about=tuple(keys),
        basis=chosen.family.basis,
        source=chosen.family.source,
    )


def _band(
    name: str, said: str, measure: Measure, ends: Ends, chosen: Chosen, unit: str = "1", rank: Rank = "advice"
) -> Demand:
    group: Group = "draft"
    return Demand(
        id=f"draft:{name}",
        group=group,
        name=said,
        measure=measure,
        unit=unit,
        kind="dough",
        rank=rank,
        minimum=ends.min,
        maximum=ends.max,
        basis=chosen.family.basis,
        source=chosen.family.source,
    )
