"""What a correction tells besides its table: what was missed, given way or let go, and what is lacking."""

from collections.abc import Sequence

from advisor.case.case import Case
from advisor.case.refusal import demand_phrase
from advisor.case.solve import TINY, Program, Solved
from advisor.demands.aim import Target
from advisor.optimise.problem import CERTIFIED
from advisor.recipe.demand import Demand
from advisor.recipe.grams import listed
from advisor.recipe.measures import Amounts
from advisor.schema.findings import TextItem

_ASKED = ("wish", "law", "dough", "use", "advice")
_STOPPED = "the search among steps of a hundredth of a percent stopped before it found one that does"


def nothing_to_move(aim: Target, case: Case) -> tuple[TextItem, ...]:
    """Return why a report asks nothing of a recipe: it makes no dough, or lacks what would be moved."""
    if aim.route == "keep":
        return ()
    if aim.index is None:
        lacking = "liquid" if case.formula.measures.powders.of(case.formula.amounts) else "powder"
        text = f"There is no {lacking} in this recipe, so it makes no dough that could be wetter or drier."
        return (TextItem(id="no-dough", text=text),)
    if aim.route == "cracks" and not case.formula.measures.humectants.top:
        text = "Neither recipe nor shelf holds a humectant to take more of: put one on the shelf."
        return (TextItem(id="no-humectant", text=text),)
    if aim.route == "in_use" and not aim.direction and all(d.group != "in-use" for d in aim.demands):
        return (TextItem(id="no-move-in-use", text=_what_would_help(case)),)
    return ()


def _what_would_help(case: Case) -> str:
    """Say that a bar holds nothing of what its report moves, and what on the shelf would help."""
    feel = None if case.learned.report is None else case.learned.report.feel
    names = [move.name for move in case.rulebook.in_use.move if move.feel == feel and move.up is not None]
    text = "This recipe holds little of what is known to bring that on"
    return f"{text}: put {' or '.join(names)} on the shelf." if names else f"{text}: look at how it is used."


def short_of_target(
    aim: Target, program: Program, amounts: Amounts, solved: Solved | None, *, proved: bool
) -> tuple[TextItem, ...]:
    """Return a note on what keeps a recipe from its target: limits, or steps.

    By how much each part is missed stands in its check. ``proved`` where it is proved that no steps near
    reach it.
    """
    missed = [demand for demand in aim.demands if demand.gap(amounts) > CERTIFIED]
    if solved is None or not missed:
        return ()
    named = [name for name in solved.plan.pressing if name in program.demand_of]
    named.sort(key=lambda name: (_ASKED.index(program.demand_of[name][0].kind), name))
    pressing = "; ".join(list(dict.fromkeys(demand_phrase(program, name) for name in named))[:3])
    names, in_reach = listed(demand.name for demand in missed), solved.plan.certified
    text = f"What keeps {names} from what is asked: {pressing or 'the total'}."
    if in_reach:
        text = (
            f"No steps of a hundredth of a percent near it bring {names} to what is asked; finer ones would."
        )
    if in_reach and not proved:
        text = f"{_started(names)}: {_STOPPED}, and finer ones would."
    return (TextItem(id="target-not-reached", text=text),)


def _started(name: str) -> str:
    return name[:1].upper() + name[1:]


def missed_wishes(program: Program, amounts: Amounts, *, proved: bool) -> tuple[TextItem, ...]:
    """Return by how much a wish narrower than a step of the recipe is missed by rounding.

    ``proved`` where it is proved that no steps near meet it.
    """
    why = "steps of a hundredth of a percent do not meet it" if proved else _STOPPED
    return tuple(
        TextItem(
            id="wish-between-steps",
            text=(
                f"{_started(demand.name)} comes to {demand.measure.of(amounts) or 0.0:.4f} %, "
                f"{gap:.4f} beside what you wished: {why}. "
                "A finer balance, or a premix, would."
            ),
        )
        for demand in program.hard
        if demand.kind == "wish" and (gap := demand.gap(amounts)) > TINY
    )


def beyond_ranges(program: Program, amounts: Amounts) -> tuple[TextItem, ...]:
    """Return which lines go beyond their usual range because the report asks for it."""
    notes = []
    for demand in program.hard:
        key = demand.about[0] if demand.group == "use" else ""
        now = amounts.get(key, 0.0)
        use = program.ingredients[key].material.use if now else None
        if use is None:
            continue
        own, name = program.starts.get(key, 0.0), program.ingredients[key].name
        over = use.max is not None and now > max(use.max, own) + TINY
        under = use.min is not None and now < min(use.min, own or use.min) - TINY
        if over or under:
            usual = f"up to {use.max:g}" if over else f"from {use.min:g}"
            text = (
                f"{name} goes to {now:g} %, beyond its usual range {usual} %: "
                "within it the dough would stay as you reported it."
            )
            notes.append(TextItem(id="beyond-usual-range", text=text))
    return tuple(notes)


def let_go(dropped: Sequence[Demand]) -> tuple[TextItem, ...]:
    """Return what the cheapest bar could not keep of the bar it was, because other demands exclude it."""
    return tuple(
        TextItem(id="not-kept", text=f"{_started(demand.name)} could not be kept ({demand.source}).")
        for demand in dropped
    )


def way_out(aim: Target) -> str:
    """Return what to do where a dough cannot be brought the way it was reported."""
    if not aim.direction:
        return ""
    fetched = "a watery liquid surfactant" if aim.direction > 0 else "a powder that takes up liquid"
    return f"Free a line by giving it a least and a most percent, or put {fetched} on the shelf."
