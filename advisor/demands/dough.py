"""What the dough asks of any recipe: cohesion, fine powder, powders that dry."""

from collections.abc import Iterator

from advisor.demands.context import DemandContext, line_demand
from advisor.recipe.demand import Demand, Measure
from advisor.schema.base import Basis


def dough_bounds(of: DemandContext, *, drier: bool) -> Iterator[Demand]:
    """Return the cohesion bounds, widened to the recipe's own values, and what may not dry a dough."""
    rules, coarse = of.dough.cohesion, of.dough.coarse
    yield powder_kept(of)
    own_watery = of.measures.watery_share.of(of.amounts)
    own_oil = of.measures.oil_per_powder.of(of.amounts)
    own_coarse = of.measures.coarse_share.of(of.amounts)
    if own_watery is not None:
        yield Demand(
            id="watery-share",
            group="watery",
            in_bowl=True,
            name="water-based part of the liquids",
            measure=of.measures.watery_share,
            unit="1",
            kind="dough",
            rank="dough",
            minimum=min(rules.watery_share_at_least, own_watery),
            basis=rules.basis,
            source=rules.source,
        )
    if own_oil is not None and own_coarse is not None:
        yield Demand(
            id="oil-per-powder",
            group="oil",
            in_bowl=True,
            name="oil per powder",
            measure=of.measures.oil_per_powder,
            unit="1",
            kind="dough",
            rank="dough",
            maximum=max(rules.oil_per_powder_at_most, own_oil),
            basis=rules.basis,
            source=rules.source,
        )
        yield Demand(
            id="coarse-powder",
            group="coarse",
            in_bowl=True,
            name="coarse powder",
            measure=of.measures.coarse_share,
            unit="1",
            kind="dough",
            rank="dough",
            maximum=max(coarse.share_at_most, own_coarse),
            basis=coarse.basis,
            source=coarse.source,
        )
    for key, one in of.ingredients.items():
        meant = one.is_surfactant or one.main_role == "humectant"
        if one.soluble_powder and (drier or not meant) and key not in of.wishes.lines:
            yield line_demand(
                key,
                None,
                of.amounts[key],
                group="soluble",
                kind="dough",
                rank="dough",
                name=f"{one.name}, no drying powder",
                basis="practice",
                source="soluble crystals make a dough wetter within an hour",
                shown_when_met=False,
            )


def wetness_within(
    measure: Measure, low: float, high: float, called: str, basis: Basis, source: str
) -> Demand:
    """Return the demand that a mass is so wet for its powders; ``called`` is its id."""
    return Demand(
        id=called,
        group="wetness",
        name="how wet it is for its powders",
        measure=measure,
        unit="1",
        kind="dough",
        rank="dough",
        minimum=low,
        maximum=high,
        basis=basis,
        source=source,
    )


def kneadable(of: DemandContext) -> Demand | None:
    """Return the demand that a mass is neither dust nor soup; None with no powder or no liquid."""
    rules, index = of.dough.kneadable, of.measures.wetness()
    if not (own := index.of(of.amounts)):
        return None
    low, high = min(rules.lowest, own), max(rules.highest, own)
    return wetness_within(index, low, high, "kneadable", rules.basis, rules.source)


def wetness_kept(of: DemandContext, source: str) -> Demand | None:
    """Return the demand that a mass stays as wet for its powders; None with no powder or no liquid."""
    index, band = of.measures.wetness(), of.dough.steps.keep_band
    if not (own := index.of(of.amounts)):
        return None
    return wetness_within(index, own * (1 - band), own * (1 + band), "wetness", "estimate", source)


def powder_kept(of: DemandContext) -> Demand:
    """Return the demand that keeps powder in the recipe."""
    uptake = Measure(of.measures.wetness().bottom or {}, None, 100.0)
    own = uptake.of(of.amounts) or 0.0
    return Demand(
        id="powder-kept",
        group="powder-kept",
        name="demand of the powders for liquid",
        measure=uptake,
        unit="%",
        kind="dough",
        rank="dough",
        minimum=of.dough.steps.powder_kept_at_least * own,
        basis=of.dough.steps.basis,
        source="powders may be exchanged, not taken away",
        shown_when_met=False,
    )
