"""Lists what a recipe must satisfy: wishes, law, preservation, use and the dough."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace

from advisor.recipe.demand import Demand, Kind, Measure, Rank, Side
from advisor.recipe.measures import Amounts, End, Measures
from advisor.rulebook.compatibility import met
from advisor.rulebook.dough import DoughRules
from advisor.rulebook.ingredient import WATER, Ingredient, folded_name
from advisor.rulebook.law import LawBook, counted
from advisor.rulebook.levels import AssessedFile, FramesFile
from advisor.rulebook.pairs import PairRules
from advisor.rulebook.program import ProgramRules
from advisor.schema.wishes import Band, Wishes

APART = "apart:"


@dataclass(frozen=True)
class DemandContext:
    """What the demands of a recipe are drawn from.

    ``amounts`` are the percents the recipe came with; materials of the shelf stand at 0. ``forbidden`` are
    the pairs of materials that the law lets no product hold.
    """

    measures: Measures
    amounts: Amounts
    wishes: Wishes
    law: LawBook | None
    forbidden: tuple[PairRules, ...]
    dough: DoughRules
    program: ProgramRules

    @property
    def ingredients(self) -> Mapping[str, Ingredient]:
        """Every material that may be used."""
        return self.measures.ingredients


def all_demands(of: DemandContext) -> list[Demand]:
    """Return every demand that holds whatever was reported, most sacred first."""
    return [
        *legal_demands(of.measures, of.law),
        *apart_demands(of),
        *_wished(of),
        *_preserved(of),
        *_use_ranges(of),
        *_not_levers(of),
    ]


def legal_demands(measures: Measures, law: LawBook | None) -> Iterator[Demand]:
    """Return the limits of a market that the ingredients touch, as made and as dried."""
    if law is None:
        return
    tops: dict[str, dict[str, float]] = {}
    for key, one in measures.ingredients.items():
        for limit_id, share in counted(law, one.folded).items():
            tops.setdefault(limit_id, {})[key] = share
    for limit in law.limits:
        top = tops.get(limit.id)
        if top is None:
            continue
        touched = {
            name
            for key in top
            for name in measures.ingredients[key].composition
            if folded_name(name) in limit.weights
        }
        made = Measure(top, None, 100.0)
        shared = {
            "name": limit.name,
            "unit": "%",
            "kind": "law",
            "rank": "law",
            "maximum": limit.max,
            "about": tuple(sorted(touched)),
            "basis": limit.basis,
            "source": limit.source,
        }
        yield Demand(id=f"law:{limit.id}:as_made", measure=made, **shared)  # type: ignore[arg-type]
        yield Demand(
            id=f"law:{limit.id}:as_dried",
            measure=measures.dried(made, "high"),
            dampest=measures.dried(made, "low"),
            state="as_dried",
            **shared,  # type: ignore[arg-type]
        )


def apart_demands(of: DemandContext) -> Iterator[Demand]:
    """Return, for each forbidden pair the recipe holds, that none is left of the side there is less of."""
    used = {key: one for key, one in of.ingredients.items() if of.amounts[key]}
    for pair, *sides in met(of.forbidden, used):
        less, more = sorted(sides, key=lambda side: (sum(of.amounts[key] for key in side), side))
        yield Demand(
            id=f"{APART}{pair.id}",
            name=f"{_names(less, used)} beside {_names(more, used)}",
            measure=Measure(dict.fromkeys(less, 1.0), None, 100.0),
            unit="%",
            kind="law",
            rank="law",
            maximum=0.0,
            about=tuple(less),
            basis=pair.basis,
            source=pair.source,
        )


def _wished(of: DemandContext) -> Iterator[Demand]:
    yield active_demand(of)
    for index, key in enumerate(of.wishes.fixed):
        own = of.amounts[key]
        both: Mapping[Side, str] = {"min": f"/wishes/fixed/{index}", "max": f"/wishes/fixed/{index}"}
        yield _line(key, own, own, group="fixed", kind="wish", rank="held", basis="wish", where=both)
    for key, band in of.wishes.lines.items():
        where = _sides(f"/wishes/lines/{key}")
        yield _line(
            key, band.min, band.max, group="line", kind="wish", rank="wish", basis="wish", where=where
        )
    for name, band in of.wishes.components.items():
        yield _component("components", name, band, of.measures.component(name))
    for name, band in of.wishes.components_dried.items():
        yield from _component_dried(name, band, of.measures)


def _component_dried(name: str, band: Band, measures: Measures) -> Iterator[Demand]:
    """Return a share of the dried bar at most and at least, each at the end of drying that is the worse."""
    most_at: End = "low" if folded_name(name) == WATER else "high"
    least_at: End = "high" if most_at == "low" else "low"
    for side, end in ((Band(max=band.max), most_at), (Band(min=band.min), least_at)):
        if side != Band():
            demand = _component("components_dried", name, side, measures.component_dried(name, end))
            yield replace(demand, id=f"{demand.id}:{end}", state="as_dried")


def _component(place: str, name: str, band: Band, measure: Measure) -> Demand:
    return Demand(
        id=f"{place}:{name}",
        name=name,
        measure=measure,
        unit="%",
        kind="wish",
        rank="wish",
        minimum=band.min,
        maximum=band.max,
        about=(name,),
        basis="wish",
        where=_sides(f"/wishes/{place}/{_escaped(name)}"),
    )


def active_demand(of: DemandContext) -> Demand:
    """Return the band of the active matter: as wished, else around the recipe's own."""
    own = of.measures.active.of(of.amounts) or 0.0
    bands = of.program.bands
    default = Demand(
        id="active",
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
    wished = of.wishes.active or Band()
    if wished.min is None and wished.max is None:
        return default
    return replace(
        default, rank="wish", minimum=wished.min, maximum=wished.max, basis="wish", source="your wish"
    )


def _preserved(of: DemandContext) -> Iterator[Demand]:
    for key, one in of.ingredients.items():
        use = one.material.use
        if one.main_role != "preservative" or use is None or use.min is None:
            continue
        if of.amounts[key] and of.amounts[key] >= use.min:
            basis, source = _evidence(one)
            name = f"{one.name}, working level"
            yield _line(
                key,
                use.min,
                None,
                group="preserved",
                kind="use",
                rank="dough",
                name=name,
                basis=basis,
                source=source,
            )


def _use_ranges(of: DemandContext) -> Iterator[Demand]:
    """Return the use ranges, widened to the recipe's own amount; a wish takes the place of its own side."""
    for key, one in of.ingredients.items():
        use, own = one.material.use, of.amounts[key]
        if use is None:
            continue
        low = min(use.min, own) if use.min is not None and own else None
        high = None if use.max is None else max(use.max, own)
        wished = of.wishes.lines.get(key, Band())
        if wished.min is not None or (wished.max is not None and low is not None and wished.max < low):
            low = None
        if wished.max is not None or (wished.min is not None and high is not None and wished.min > high):
            high = None
        if low is None and high is None:
            continue
        basis, source = _evidence(one)
        name = f"{one.name}, usual range"
        yield _line(
            key, low, high, group="use", kind="use", rank="advice", name=name, basis=basis, source=source
        )


def _not_levers(of: DemandContext) -> Iterator[Demand]:
    held = of.program.held
    for key, one in of.ingredients.items():
        if key not in of.wishes.fixed and not is_lever(one, of):
            own = of.amounts[key]
            yield _line(
                key,
                own,
                own,
                group="no-lever",
                kind="advice",
                rank="advice",
                name=f"{one.name}, no lever of the dough",
                basis=held.basis,
                source=held.source,
            )


def is_lever(one: Ingredient, of: DemandContext) -> bool:
    """Tell whether a material may be moved: its kind allows it, or a wish speaks of its line."""
    held = of.program.held
    named = one.holds(*held.components) * 100 >= held.at_least_percent
    return one.key in of.wishes.lines or not (named or one.main_role in held.roles)


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
            name="watery share of the liquids",
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
            name="coarse powder",
            measure=of.measures.coarse_share,
            unit="1",
            kind="dough",
            rank="dough",
            maximum=max(coarse.share_at_most, own_coarse),
            basis=coarse.basis,
            source=coarse.source,
        )
    if drier:
        for key, one in of.ingredients.items():
            if one.material.soluble and one.powder() and key not in of.wishes.lines:
                yield _line(
                    key,
                    None,
                    of.amounts[key],
                    group="soluble",
                    kind="dough",
                    rank="dough",
                    name=f"{one.name}, no drying powder",
                    basis="practice",
                    source="soluble crystals make a dough wetter within an hour",
                )


def powder_kept(of: DemandContext) -> Demand:
    """Return the demand that keeps powder in the recipe."""
    uptake = Measure(of.measures.wetness().bottom or {}, None, 100.0)
    own = uptake.of(of.amounts) or 0.0
    return Demand(
        id="powder-kept",
        name="demand of the powders for liquid",
        measure=uptake,
        unit="%",
        kind="dough",
        rank="dough",
        minimum=of.dough.steps.powder_kept_at_least * own,
        basis=of.dough.steps.basis,
        source="powders may be exchanged, not taken away",
    )


def frame_advice(measures: Measures, frames: FramesFile, assessed: AssessedFile) -> Iterator[Demand]:
    """Return composition frames and assessed levels as advice."""
    frame = frames.frame[0]
    for part in frame.part:
        top = {}
        for key, one in measures.ingredients.items():
            if part.counts == "components":
                share = one.holds(*part.components)
            elif part.counts == "active":
                share = one.active if one.material.charge in part.charges else 0.0
            else:
                share = 1.0 if one.main_role in part.roles else 0.0
            if share:
                top[key] = share
        if top:
            yield Demand(
                id=f"frame:{part.id}",
                name=f"{part.name}, frame {frame.id}",
                measure=Measure(top, None, 100.0),
                unit="%",
                kind="advice",
                rank="advice",
                maximum=part.max,
                about=tuple(sorted(top)),
                basis=frames.basis,
                source=f"{frames.source}, frame {frame.id} {frame.title}",
            )
    for level in (one for one in assessed.level if one.kind == "assessed"):
        top = {
            key: share for key, one in measures.ingredients.items() if (share := one.holds(*level.components))
        }
        if top:
            yield Demand(
                id=f"level:{level.id}",
                name=f"{level.name}, highest level assessed",
                measure=Measure(top, None, 100.0),
                unit="%",
                kind="advice",
                rank="advice",
                maximum=level.max,
                about=level.components,
                basis=level.basis,
                source=level.source,
            )


def _line(
    key: str,
    low: float | None,
    high: float | None,
    *,
    group: str,
    kind: Kind,
    rank: Rank,
    name: str = "",
    basis: str,
    source: str = "",
    where: Mapping[Side, str] | None = None,
) -> Demand:
    return Demand(
        id=f"{group}:{key}",
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
    )


def _names(keys: Iterable[str], of: Mapping[str, Ingredient]) -> str:
    return " and ".join(of[key].name for key in keys)


def _sides(where: str) -> Mapping[Side, str]:
    return {"min": f"{where}/min", "max": f"{where}/max"}


def _escaped(name: str) -> str:
    return name.replace("~", "~0").replace("/", "~1")


def _evidence(one: Ingredient) -> tuple[str, str]:
    evidence = (one.material.evidence or {}).get("use")
    if evidence is not None:
        return evidence.basis, evidence.source
    return one.material.basis or "own", one.material.source or "given with the material"
