"""What a material is used at: its working level, its usual range, and whether it may be moved at all."""

from collections.abc import Iterable, Iterator, Sequence
from functools import lru_cache

from advisor.demands.context import DemandContext, line_demand
from advisor.frozen import replace
from advisor.recipe.demand import Demand
from advisor.rulebook.identity import ByIdentity
from advisor.rulebook.ingredient import Ingredient
from advisor.rulebook.program import ProgramRules
from advisor.schema.material import Range

_REMEMBERED = 8192


def preserved(of: DemandContext) -> Iterator[Demand]:
    """Return the working level of each preservative that stands at or above it."""
    for key, one in of.ingredients.items():
        use = one.material.use
        if one.main_role != "preservative" or use is None or use.min is None:
            continue
        if of.amounts[key] and of.amounts[key] >= use.min:
            basis, source = _evidence(one)
            name = f"{one.name}, working level"
            yield line_demand(
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


def use_ranges(of: DemandContext, *, as_written: bool = False) -> Iterator[Demand]:
    """Return the use ranges; a wish takes the place of its own side.

    They are widened to the recipe's own amount, unless they are to stand as written: then the least counts
    for the material there is most of in its role, and what is used beside it may be less.
    """
    most: dict[str, float] = {}
    for key, one in of.ingredients.items():
        most[one.main_role] = max(most.get(one.main_role, 0.0), of.amounts[key])
    for key, one in of.ingredients.items():
        use, own = one.material.use, of.amounts[key]
        if use is None:
            continue
        low = min(use.min, own) if use.min is not None and own else None
        high = None if use.max is None else max(use.max, own)
        if as_written:
            low, high = use.min if own and own >= most[one.main_role] else None, use.max
        wished = of.wished(key)
        if wished.min is not None or (wished.max is not None and low is not None and wished.max < low):
            low = None
        if wished.max is not None or (wished.min is not None and high is not None and wished.min > high):
            high = None
        if low is None and high is None:
            continue
        usual = _usual_range(one, low, high)
        yield usual if not own or use.holds(own) else _beside(usual, own, use)


@lru_cache(maxsize=_REMEMBERED)
def _usual_range(one: Ingredient, low: float | None, high: float | None) -> Demand:
    basis, source = _evidence(one)
    name = f"{one.name}, usual range"
    return line_demand(
        one.key, low, high, group="use", kind="use", rank="advice", name=name, basis=basis, source=source
    )


def _beside(demand: Demand, own: float, use: Range) -> Demand:
    """Return a usual range named with its figures and the recipe's own percent, which lies outside it."""
    least, most = ("" if end is None else f"{end:g}" for end in (use.min, use.max))
    stated = f"{least} to {most}" if least and most else f"from {least}" if least else f"to {most}"
    called = f"{demand.name} {stated} %, yours"
    return replace(demand, name=f"{called} {own:g} %", called=called)


def given_way(demand: Demand, of: DemandContext) -> Demand:
    """Return a usual range as far as it gives way where it alone keeps a report from being served.

    It is measured from the library's own figures, and never narrower than before.
    """
    one = of.ingredients[demand.about[0]]
    share = of.program.beyond_range.share.get(one.main_role)
    use = one.material.use
    if share is None or use is None or one.material.charge == "cationic":
        return demand
    low, high = demand.minimum, demand.maximum
    return replace(
        demand,
        minimum=None if low is None or use.min is None else min(low, use.min * (1 - share)),
        maximum=None if high is None or use.max is None else max(high, use.max * (1 + share)),
    )


def humectants_kept(of: DemandContext) -> Iterator[Demand]:
    """Return, for each humectant, that not more than a part of it goes, unless a wish speaks of its line."""
    rules = of.program.moves
    for key, one in of.ingredients.items():
        if one.main_role == "humectant" and of.amounts[key] and key not in of.wishes.lines:
            yield line_demand(
                key,
                of.amounts[key] * rules.humectant_at_least,
                None,
                group="humectant-kept",
                kind="advice",
                rank="advice",
                name=f"{one.name}, kept at least in part",
                basis=rules.basis,
                source="a bar without its humectant is another bar",
                shown_when_met=False,
            )


def no_levers(of: DemandContext, law: Iterable[Demand]) -> Iterator[Demand]:
    """Return, for what is no lever of the dough, that it stays where it is.

    Parameters
    ----------
    law : iterable of Demand
        What the law asks: a line of which there is too much comes down.
    """
    held, broken = of.program.held, [demand for demand in law if demand.gap(of.amounts, 100.0)]
    for key, one in of.ingredients.items():
        if key in of.wishes.fixed or freed(key, of) or _moves(one, ByIdentity(of.program)):
            continue
        low, high = _held_between(one, of, broken)
        yield line_demand(
            key,
            low,
            high,
            group="no-lever",
            kind="advice",
            rank="advice",
            name=f"amount of {one.name}",
            basis=held.basis,
            source=held.source,
            shown_when_met=False,
        )


def _held_between(one: Ingredient, of: DemandContext, broken: Sequence[Demand]) -> tuple[float, float]:
    """Return between which percents a line that is no lever stays."""
    own, wished = of.amounts[one.key], of.wished(one.key)
    at = max(own, wished.min or 0.0) if wished.max is None else min(own, wished.max)
    low = high = at
    if (
        one.main_role == "preservative"
        and wished.min is None
        and wished.max is None
        and one.material.use is not None
        and own
    ):
        high = max(at, one.material.use.min or 0.0)
    for demand in broken:
        value = demand.measure.of(of.amounts, 100.0)
        if demand.measure.top.get(one.key) and value and demand.maximum is not None:
            low = min(low, own * demand.maximum / value * (1 - of.program.held.law_room))
    return low, high


@lru_cache(maxsize=_REMEMBERED)
def _moves(one: Ingredient, rules: ByIdentity[ProgramRules]) -> bool:
    """Tell whether a material is of a kind that is moved."""
    held = rules.thing.held
    return one.main_role not in held.roles and one.holds(*held.components) * 100 < held.at_least_percent


def freed(key: str, of: DemandContext) -> bool:
    """Tell whether the maker gave a line both a least and a most percent."""
    wished = of.wished(key)
    return wished.min is not None and wished.max is not None


def may_join(one: Ingredient, of: DemandContext) -> bool:
    """Tell whether a material of the shelf may be reached for unasked, or is asked for by a wish.

    No salt, sugar, gum or silica comes in as a powder.
    """
    return freed(one.key, of) or bool(of.wished(one.key).min) or _joins(one, ByIdentity(of.program))


@lru_cache(maxsize=_REMEMBERED)
def _joins(one: Ingredient, rules: ByIdentity[ProgramRules]) -> bool:
    """Tell whether a material is of a kind that is reached for unasked."""
    of = rules.thing
    sugar = 100 * one.holds(*of.never_new.powders) >= of.held.at_least_percent
    return _moves(one, rules) and not (
        (one.soluble_powder and not one.is_surfactant) or (one.powder() and sugar)
    )


def _evidence(one: Ingredient) -> tuple[str, str]:
    evidence = (one.material.evidence or {}).get("use")
    if evidence is not None:
        return evidence.basis, evidence.source
    return one.material.basis or "own", one.material.source or "given with the material"
