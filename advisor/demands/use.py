"""What a material is used at: its working level, its usual range, and whether it may be moved at all."""

from collections.abc import Iterator

from advisor.demands.context import DemandContext
from advisor.demands.line import line_demand
from advisor.recipe.demand import Demand
from advisor.rulebook.ingredient import Ingredient
from advisor.schema.wishes import Band


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


def use_ranges(of: DemandContext) -> Iterator[Demand]:
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
        yield line_demand(
            key, low, high, group="use", kind="use", rank="advice", name=name, basis=basis, source=source
        )


def no_levers(of: DemandContext) -> Iterator[Demand]:
    """Return, for what is no lever of the dough, that it stays where it is."""
    held = of.program.held
    for key, one in of.ingredients.items():
        if key not in of.wishes.fixed and not is_lever(one, of):
            own = of.amounts[key]
            yield line_demand(
                key,
                own,
                own,
                group="no-lever",
                kind="advice",
                rank="advice",
                name=f"{one.name}, no lever of the dough",
                basis=held.basis,
                source=held.source,
                shown_when_met=False,
            )


def is_lever(one: Ingredient, of: DemandContext) -> bool:
    """Tell whether a material may be moved: its kind allows it, or a wish speaks of its line."""
    held = of.program.held
    named = one.holds(*held.components) * 100 >= held.at_least_percent
    return one.key in of.wishes.lines or not (named or one.main_role in held.roles)


def _evidence(one: Ingredient) -> tuple[str, str]:
    evidence = (one.material.evidence or {}).get("use")
    if evidence is not None:
        return evidence.basis, evidence.source
    return one.material.basis or "own", one.material.source or "given with the material"
