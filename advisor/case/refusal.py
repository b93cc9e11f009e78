"""Says why no recipe fits, and which recipe comes nearest."""

import math
from collections.abc import Sequence

from advisor.case.advice import applicable
from advisor.case.case import Case
from advisor.case.solve import Program, rounded
from advisor.demands.dough import kneadable
from advisor.errors import Fault, NoRecipeFits
from advisor.frozen import replace
from advisor.optimise.conflict import conflicting_rows
from advisor.optimise.problem import Problem
from advisor.optimise.row import Row
from advisor.optimise.session import Session, optimise
from advisor.recipe.demand import RANKS, Demand, Rank, Side
from advisor.recipe.measures import Amounts
from advisor.schema.base import WHOLE
from advisor.schema.findings import TextItem
from advisor.schema.refusal import Bend, ConflictingDemand, NearestRecipe
from advisor.writing import behind, decimals, figure, in_state

_HALF_STEP = 0.005


def no_recipe_fits(
    program: Program, case: Case, *, target_is_hard: bool = False, way_out: str = ""
) -> NoRecipeFits:
    """Return the error that names an irreducible conflict and the nearest recipe.

    Parameters
    ----------
    program : Program
    case : Case
    target_is_hard : bool
        Whether the report's target is what cannot be met.
    way_out : str
        What the maker can do about it besides giving up a demand.
    """
    rows = _rows(program, target_is_hard=target_is_hard)
    sides = conflict_of(program, target_is_hard=target_is_hard)
    reach = {demand.id + side: _reach(program, demand, side, rows) for demand, side in sides}
    return NoRecipeFits(
        " ".join(filter(None, (_detail(sides, reach), way_out))),
        [
            Fault(
                _where(demand, side, case),
                _unmet(len(sides) - 1),
                reach[demand.id + side],
            )
            for demand, side in sides
        ],
        conflict=[_described(demand, side, case) for demand, side in sides],
        nearest=_nearest(program, case),
        advice=_bench_advice(case),
        rules_version=case.rulebook.edition,
    )


def _rows(program: Program, *, target_is_hard: bool) -> list[Row]:
    return [*program.hard_rows, *(program.soft_rows if target_is_hard else ())]


def conflict_of(program: Program, *, target_is_hard: bool = False) -> list[tuple[Demand, Side]]:
    """Return demands that exclude each other, and none without which the others could be met."""
    rows = _rows(program, target_is_hard=target_is_hard)
    order = sorted(rows, key=lambda row: (RANKS.index(_rank(program, row)), row.name))
    return _sides(program, conflicting_rows(program.problem(), [program.total], order))


def law_cannot_be_restored(law: Sequence[Demand], rows: Sequence[str], case: Case) -> NoRecipeFits:
    """Return the error for a bowl over a limit of the law that nothing at hand brings back.

    Parameters
    ----------
    law : sequence of Demand
    rows : sequence of str
        Names of the irreducible rows, ``demand:side``.
    case : Case
    """
    by_row: dict[str, tuple[Demand, Side]] = {f"{demand.id}:max": (demand, "max") for demand in law}
    sides = [by_row[name] for name in rows]
    named = "; ".join(f"{_phrase(d, side)} {_figure(d, d.bound(side) or 0.0)}" for d, side in sides)
    return NoRecipeFits(
        f"Nothing that may be added brings the bowl back to the law: {named}.",
        [
            Fault(
                _where(demand, side, case),
                f"holds {_figure(demand, demand.measure.of(case.formula.amounts) or 0.0)}",
                "put on the shelf what is free of it, or use the dough up little by little in later batches",
            )
            for demand, side in sides
        ],
        conflict=[_described(demand, side, case) for demand, side in sides],
        nearest=None,
        advice=_bench_advice(case),
        rules_version=case.rulebook.edition,
    )


def _bench_advice(case: Case) -> tuple[TextItem, ...]:
    """Return what the report calls for at the bench; it may help where no recipe does."""
    report, bench, traits = case.learned.report, case.rulebook.bench, case.traits
    if report is None:
        return ()
    return (*applicable(bench.process, report, traits), *applicable(bench.advice, report, traits))


def _rank(program: Program, row: Row) -> Rank:
    found = program.demand_of.get(row.name)
    return "dough" if found is None else found[0].rank


def _sides(program: Program, conflict: Sequence[Row]) -> list[tuple[Demand, Side]]:
    """Return the demands behind the rows, each held line once."""
    sides: dict[str, tuple[Demand, Side]] = {}
    for row in conflict:
        found = program.demand_of.get(row.name)
        if found is not None:
            demand, side = found
            sides.setdefault(demand.id if demand.minimum == demand.maximum else row.name, (demand, side))
    return list(sides.values())


def _unmet(others: int) -> str:
    if not others:
        return "cannot be met with what may be used"
    return f"cannot be met together with {'the other demand' if others == 1 else f'{others} other demands'}"


def _phrase(demand: Demand, side: Side) -> str:
    if demand.minimum is not None and demand.minimum == demand.maximum:
        return f"{demand.name} held at"
    name = in_state(demand.called or demand.name, demand.state)
    return f"{name} at {'least' if side == 'min' else 'most'}"


def demand_phrase(program: Program, row_name: str) -> str:
    """Return the demand behind a row in words, with its figure."""
    demand, side = program.demand_of[row_name]
    return f"{_phrase(demand, side)} {_figure(demand, demand.bound(side) or 0.0)}"


def _where(demand: Demand, side: Side, case: Case) -> str:
    """Return the place in the request that a demand comes from."""
    if demand.where and side in demand.where:
        return demand.where[side]
    if demand.target:
        return "/report"
    written = list(case.formula.written.percents)
    named = [key for key in demand.about if key in written]
    return f"/recipe/lines/{written.index(named[0])}" if len(named) == 1 else "/recipe"


def _described(demand: Demand, side: Side, case: Case) -> ConflictingDemand:
    return ConflictingDemand(
        demand=_phrase(demand, side),
        value=round(demand.bound(side) or 0.0, 4),
        unit=demand.unit,
        kind=demand.kind,
        where=_where(demand, side, case),
        source=demand.source,
    )


def _figure(demand: Demand, value: float) -> str:
    return figure(value, decimals(value, [], demand.unit)) + behind(demand.unit)


def _detail(sides: Sequence[tuple[Demand, Side]], reach: dict[str, str]) -> str:
    if not sides:
        return (
            "The demands do not exclude each other, but no steps of a percent were found that meet them all. "
            "Widen the narrowest by a hundredth."
        )
    named = "; ".join(f"{_phrase(d, side)} {_figure(d, d.bound(side) or 0.0)}" for d, side in sides)
    if len(sides) == 1:
        excluded = f"Nothing that may be used brings {named}. Widen it, or put more on the shelf."
    else:
        excluded = f"These exclude each other: {named}. Give up or widen any one of them."
    reached = [
        f"{'With the others kept, ' if len(sides) > 1 else ''}{d.name} reaches {r}."
        for d, side in sides
        if (r := reach[d.id + side])
    ]
    reached = [sentence[0].upper() + sentence[1:] for sentence in reached]
    return " ".join([excluded, *reached[:1]])


def _reach(program: Program, demand: Demand, side: Side, rows: Sequence[Row]) -> str:
    """Say what easing one wish would really reach once every other row is kept."""
    name = f"{demand.id}:{side}"
    if demand.kind != "wish" or demand.measure.bottom is not None or demand.minimum == demand.maximum:
        return ""
    eased = [replace(row, penalty=1.0) if row.name == name else replace(row, penalty=None) for row in rows]
    plan = Session(Problem(program.problem().starts, rows=[program.total, *eased])).solve()
    if plan is None:
        return ""
    short = plan.overshoot[name]
    bound = demand.bound(side) or 0.0
    word, value = ("at most", bound - short) if side == "min" else ("at least", bound + short)
    return f"{word} {_figure(demand, value)}"


def _nearest(program: Program, case: Case) -> NearestRecipe | None:
    """Return the dough that keeps total and law and bends the rest least; None where those exclude all."""
    dough = kneadable(case.context)
    unbent = [] if dough is None else [dough]
    prices = program.rules.bend_prices
    root = math.sqrt(prices.scale)
    problem = program.problem()
    weights = {key: weight / root for key, weight in problem.weights.items()}
    rows = [program.total, *(row for demand in unbent for row in demand.rows(program.keys, WHOLE))]
    for row in (*program.hard_rows, *program.soft_rows):
        rank = _rank(program, row)
        if rank == "law" or row.name not in program.demand_of:
            rows.append(row)
        else:
            rows.append(replace(row, penalty=getattr(prices, rank) * root))
    plan = optimise(replace(problem, weights=weights, rows=rows, mover_fee=0.0, newcomer_fee=0.0))
    if plan is None:
        return None
    bent = replace(plan, overshoot={row.name: plan.overshoot.get(row.name, 0.0) for row in program.soft_rows})
    kept = [d for d in program.hard if d.rank == "law" or _bend(d, plan.amounts, case) is None] + unbent
    found = rounded(replace(program, hard=kept), bent, case.formula.written.decimals)
    amounts = plan.amounts if found is None else found.amounts
    bends = (_bend(demand, amounts, case) for demand in (*program.hard, *program.soft))
    return NearestRecipe(
        recipe=case.recipe(amounts),
        bends=tuple(bend for bend in bends if bend is not None),
        after=case.state(amounts),
        checks=tuple(case.checks(amounts, program.soft)),
    )


def _bend(demand: Demand, amounts: Amounts, case: Case) -> Bend | None:
    """Return how far a recipe breaks a demand; None where it keeps it."""
    value = demand.measure.of(amounts)
    if value is None or demand.gap(amounts) < (_HALF_STEP if demand.unit == "%" else _HALF_STEP / 5):
        return None
    side: Side = "min" if demand.minimum is not None and value < demand.minimum else "max"
    by = value - (demand.bound(side) or 0.0)
    return Bend(
        demand=_phrase(demand, side),
        by=round(by, 2 if demand.unit == "%" else 3),
        unit="point" if demand.unit == "%" else demand.unit,
        where=_where(demand, side, case),
    )
