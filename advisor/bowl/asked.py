"""What is asked of a dough or a batch to which things are only added."""

from collections.abc import Iterable, Mapping, Sequence

from advisor.demands.context import DemandContext, line_demand
from advisor.demands.dough import dough_bounds, wetness_kept
from advisor.frozen import replace
from advisor.optimise.row import TOLERANCE, Row
from advisor.recipe.demand import RANKS, Demand, Measure, Side
from advisor.rulebook.bowl import RecoveryRules

_RATIO_AS_POINTS = 100.0
_ORDER = (RANKS[3:5], RANKS[2:3], RANKS[:2])
_SIDES: tuple[Side, Side] = ("min", "max")


def bowl_demands(of: DemandContext, demands: Sequence[Demand], *, drier: bool, dough: bool) -> list[Demand]:
    """Return the demands as they hold where nothing can be taken out.

    What is no lever is simply not added; what lies below its usual range already is not asked to rise; the
    working level of a preservative stands for the low end of its range.

    Parameters
    ----------
    of : DemandContext
        The bowl.
    demands : sequence of Demand
        Those of a recipe that can be changed freely.
    drier : bool
        Whether the dough is to become drier.
    dough : bool
        Whether the bounds of the dough count.
    """
    preserved = {demand.about for demand in demands if demand.group == "preserved"}
    kept = [demand for demand in demands if demand.group not in ("no-lever", "use")]
    for demand in demands:
        if demand.group == "use":
            low = None if demand.about in preserved else _reachable(demand, of)
            if low is not None or demand.maximum is not None:
                kept.append(replace(demand, minimum=low))
    return [*kept, *(_dough(of, drier=drier) if dough else ())]


def recovery_demands(of: DemandContext, demands: Sequence[Demand], rules: RecoveryRules) -> list[Demand]:
    """Return the demands on a batch in which something was over-weighed.

    What is no lever may end within a share of its own percent, what no batch is filled up with not over it;
    the bounds of the dough count.

    Parameters
    ----------
    of : DemandContext
        The recipe as it was to be.
    demands : sequence of Demand
        Those of a recipe that can be changed freely.
    rules : RecoveryRules
    """
    kept = [demand for demand in demands if demand.group != "no-lever"]
    held = {demand.about[0] for demand in demands if demand.group == "no-lever"}
    for demand in demands:
        own = of.amounts[demand.about[0]] if demand.group == "no-lever" else 0.0
        if own:
            low, high = own * (1 - rules.held_within), own * (1 + rules.held_within)
            kept.append(replace(demand, minimum=low, maximum=high))
    kept += [
        line_demand(
            key,
            None,
            own * (1 + rules.held_within),
            group="wrong-way",
            kind="advice",
            rank="dough",
            name=f"{one.name}, which fills no batch up",
            basis=rules.basis,
            source=rules.source,
            shown_when_met=False,
        )
        for key, one in of.ingredients.items()
        if (own := of.amounts[key])
        and key not in held
        and (one.main_role in rules.no_filling or (one.soluble_powder and not one.is_surfactant))
    ]
    wet = bool(of.measures.wetness().of(of.amounts))
    return [*kept, *(_dough(of, drier=False) if wet else ())]


def _dough(of: DemandContext, *, drier: bool) -> Iterable[Demand]:
    return (demand for demand in dough_bounds(of, drier=drier) if demand.in_bowl)


def recipe_wetness(of: DemandContext) -> list[Demand]:
    """Return the demand that a batch keeps the wetting index of its recipe; none where it has no dough."""
    kept = wetness_kept(of, "the recipe as it was to be")
    return [] if kept is None else [replace(kept, id="target:wetness", target=True, in_bowl=True)]


def watery_dose(of: DemandContext, liquids: Iterable[str], share: float, source: str) -> Demand:
    """Return the demand for a dose of watery liquid in a dough that crumbles.

    Parameters
    ----------
    of : DemandContext
        The bowl.
    liquids : iterable of str
        What may be added.
    share : float
        The dose as a share of the dough.
    source : str
        What asks for it.
    """
    powders = of.measures.powders.top
    per_powder = Measure(dict.fromkeys(sorted(liquids), 1.0), powders)
    there = per_powder.of(of.amounts) or 0.0
    dose = share * sum(of.amounts.values()) / per_powder.below(of.amounts)
    rules = of.dough.cohesion
    return Demand(
        id="target:watery-dose",
        group="watery",
        target=True,
        in_bowl=True,
        name="watery liquid per powder",
        measure=per_powder,
        unit="1",
        kind="dough",
        rank="dough",
        minimum=there + dose,
        basis=rules.basis,
        source=source,
    )


def within_a_step(demands: Iterable[Demand], of: DemandContext, step: float) -> list[Demand]:
    """Return demands as a balance keeps them: a line that is to stay may be off by a step [% of the whole].

    Examples
    --------
    >>> within_a_step([], None, 0.1)
    []
    """
    return [
        replace(
            demand,
            minimum=max(0.0, of.amounts[demand.about[0]] - step),
            maximum=of.amounts[demand.about[0]] + step,
            source="your wish, within a step of the balance",
        )
        if demand.group == "fixed"
        else demand
        for demand in demands
    ]


def _reachable(demand: Demand, of: DemandContext) -> float | None:
    own = of.amounts[demand.about[0]]
    return None if demand.minimum is not None and own <= demand.minimum + TOLERANCE else demand.minimum


def by_rank(demands: Sequence[Demand]) -> list[list[Demand]]:
    """Return demands below the law in groups, the most sacred first."""
    groups = [[demand for demand in demands if demand.rank in ranks] for ranks in _ORDER]
    return [group for group in groups if group]


def rows_over(
    demands: Iterable[Demand], base: Mapping[str, float], keys: tuple[str, ...], prices: Mapping[str, float]
) -> list[Row]:
    """Return the rows of demands on a growing whole, each in the unit of its measure.

    ``prices`` holds what a point missed costs by the rank of the demand; a ratio counts as a hundred points.
    """
    rows = []
    for demand in demands:
        below = demand.measure.below(base) / demand.measure.scale
        if below <= 0:
            continue
        price = prices.get(demand.rank, 1.0) * (1.0 if demand.unit == "%" else _RATIO_AS_POINTS)
        for side in _SIDES:
            bound = demand.bound(side)
            if bound is None:
                continue
            row = demand.measure.row(f"{demand.id}:{side}", side, bound, keys, None)
            rows.append(row.per(below, price))
    return rows
