"""Says what easing a pressing bound would change; each is proved by solving again."""

from dataclasses import replace

from advisor.case.solve import WHOLE, Solved, Task, rounded
from advisor.optimise.problem import Session
from advisor.recipe.demand import Demand, Side
from advisor.recipe.measures import Amounts
from advisor.schema.findings import Sensitivity

_EXPLAINED = ("wish", "use", "dough")
_TRIED_AT_MOST = 6
_NOTICED = 0.005


def sensitivities(task: Task, solved: Solved, amounts: Amounts, decimals: int) -> tuple[Sensitivity, ...]:
    """Return what one natural step more room at each pressing bound would move, the largest effect first.

    The law is never eased. Each effect is the difference between ``amounts``, the rounded answer, and the
    rounded answer of the problem with that bound eased, both proved.
    """
    found = []
    session = solved.session
    for name in solved.plan.pressing[: 2 * _TRIED_AT_MOST]:
        if name not in task.demand_of:
            continue
        demand, side = task.demand_of[name]
        held = demand.minimum == demand.maximum
        if held or demand.kind not in _EXPLAINED or demand.unit != "%":
            continue
        effect = _effect(session, task, demand, side, amounts, decimals)
        if effect is not None:
            found.append(effect)
        if len(found) == _TRIED_AT_MOST:
            break
    found.sort(key=lambda one: (-abs(one.effect), one.name))
    return tuple(found[: task.rules.sensitivity.at_most])


def _effect(
    session: Session, task: Task, demand: Demand, side: Side, amounts: Amounts, decimals: int
) -> Sensitivity | None:
    step = task.rules.sensitivity.natural_step
    name, bound = f"{demand.id}:{side}", demand.bound(side)
    row = next(row for row in session.problem.rows if row.name == name)
    if bound is None or not bound:
        return None
    per_row = row.bound / bound
    eased = bound + (step if side == "max" else -step)
    if eased < 0:
        return None
    session.hold(frozenset())
    session.ease(name, eased * per_row)
    plan = session.settle(explained=False)
    session.ease(name, row.bound)
    if plan is None:
        return None
    wider = replace(demand, minimum=eased) if side == "min" else replace(demand, maximum=eased)
    wider_row = next(one for one in wider.rows(task.keys, WHOLE) if one.name == name)
    rows = [wider_row if one.name == name else one for one in task.hard_rows]
    found = rounded(task, plan, decimals, rows)
    if found is None:
        return None
    reached = found.amounts
    moves = {key: reached[key] - amount for key, amount in amounts.items()}
    key = max(moves, key=lambda one: (round(abs(moves[one]), 6), one))
    if abs(moves[key]) < _NOTICED:
        return None
    effect, end = round(moves[key], 4), amounts[key]
    word = "more" if side == "max" else "less"
    return Sensitivity(
        name=demand.name,
        bound=side,
        per=step,
        unit="point",
        effect=effect,
        effect_of=key,
        text=(
            f"With {step:g} point {word} allowed at the {'upper' if side == 'max' else 'lower'} bound of "
            f"{demand.name}, {key} would come to {end + effect:g} % instead of {end:g} %."
        ),
    )
