"""The one place that says what easing a pressing bound would change; each is proved by solving again."""

from advisor.program.problem import Session
from advisor.shapes.findings import Sensitivity
from advisor.tasks.plan import Solved, Task
from advisor.trade.demand import Demand, Side

_EXPLAINED = ("wish", "use", "dough")
_TRIED_AT_MOST = 6
_NOTICED = 0.005


def sensitivities(task: Task, solved: Solved) -> tuple[Sensitivity, ...]:
    """Return what one natural step more room at each pressing bound would move, the largest effect first.

    The law is never eased. Each effect is the difference between two proved optima before rounding.
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
        effect = _effect(session, demand, side, solved, task.rules.sensitivity.natural_step)
        if effect is not None:
            found.append(effect)
        if len(found) == _TRIED_AT_MOST:
            break
    found.sort(key=lambda one: (-abs(one.effect), one.name))
    return tuple(found[: task.rules.sensitivity.at_most])


def _effect(session: Session, demand: Demand, side: Side, solved: Solved, step: float) -> Sensitivity | None:
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
    plan = session.settle()
    session.ease(name, row.bound)
    if plan is None:
        return None
    moves = {key: plan.amounts[key] - amount for key, amount in solved.plan.amounts.items()}
    key = max(moves, key=lambda one: (round(abs(moves[one]), 6), one))
    if abs(moves[key]) < _NOTICED:
        return None
    effect, end = round(moves[key], 2), solved.plan.amounts[key]
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
            f"{demand.name}, {key} would come to {end + effect:.2f} % instead of {end:.2f} %."
        ),
    )
