"""A judge of reasons: the told cause of a move is taken away and the recipe asked again; the move has to go or shrink."""

from collections.abc import Iterator
from dataclasses import replace
from typing import Any, NamedTuple
from unittest.mock import patch

import advisor
from advisor.case.reasons import Move, Reasons
from advisor.case.solve import Program, rounded, solve, unpriced
from advisor.correction import task as correction
from advisor.recipe.demand import Demand
from helpers.ordinary import Asked

NOTICED = 0.004
_BY_ITSELF = ("use", "wish", "law")


class Judged(NamedTuple):
    """A reason as it was told, by what it was judged, and whether it held."""

    named: str
    why: str
    cause: str
    holds: bool


class _Kept(NamedTuple):
    program: Program
    reasons: Reasons


def judged(asked: Asked) -> Iterator[Judged]:
    """Yield every reason of a correction, judged; nothing where no recipe fits."""
    kept: list[_Kept] = []
    answer_at = correction._Correction._answer_at

    def keeping(self: Any, found: Any, **others: Any) -> Any:
        program, own = found.program, found.program.starts
        moves = [
            Move(program.ingredients[key], own.get(key, 0.0), amount)
            for key, amount in found.amounts.items()
            if abs(amount - own.get(key, 0.0)) > 1e-7
        ]
        demands, route = (*program.hard, *program.soft), found.aim.route
        kept.append(
            _Kept(program, Reasons(moves, found.amounts, demands, route, program.rules, unpriced(program)))
        )
        return answer_at(self, found, **others)

    with patch.object(correction._Correction, "_answer_at", keeping):
        try:
            answer = advisor.correct(asked.request)
        except advisor.AdvisorError:
            return
    of = {move.one.key: move for move in kept[0].reasons.moves}
    for change in answer.changes:
        move = of[change.material]
        cause, holds = _holds(kept[0], move)
        yield Judged(asked.named, change.why, cause, holds)


def _holds(kept: _Kept, move: Move) -> tuple[str, bool]:
    """Tell whether a move goes or shrinks without its cause, and what only fills the total breaks nothing.

    Of the cheapest answer a line that also moves without the price is judged in the answer of least change.
    """
    program, cause, key = kept.program, kept.reasons.cause(move), move.one.key
    called = str(getattr(cause, "group", cause))
    amounts = kept.reasons.shown_by(move)
    back = {**amounts, key: move.before}
    if cause == "total":
        spoken = [d for d in kept.reasons.demands if d.measure.touches(key) and d.kind != "law"]
        return called, all(demand.gap(back) <= demand.gap(amounts) + 1e-6 for demand in spoken)
    without_price = replace(program, cheapest=False)
    if cause == "price":
        less = without_price
    else:
        less = _eased(program if amounts is kept.reasons.amounts else without_price, cause, back)
    without = solve(less)
    found = None if without is None else rounded(less, without.plan, 2)
    if found is None:
        return called, True
    moved, now = amounts[key] - move.before, found.amounts.get(key, 0.0) - move.before
    return called, now * moved <= 0 or abs(now) < abs(moved) - NOTICED


def _eased(program: Program, cause: Demand, left: dict[str, float]) -> Program:
    """Return a program without the side of the cause that breaks, nor what is of the same kind and side."""
    value = cause.measure.of(left) or 0.0
    side = "minimum" if cause.minimum is not None and value < cause.minimum else "maximum"

    def kept(demands: Any) -> list[Demand]:
        eased = [
            replace(one, **{side: None})
            if one.id == cause.id or (one.group == cause.group and one.group not in _BY_ITSELF)
            else one
            for one in demands
        ]
        return [one for one in eased if one.minimum is not None or one.maximum is not None]

    risen = program.no_more_of if not cause.target else frozenset[str]()
    return replace(program, hard=kept(program.hard), soft=kept(program.soft), no_more_of=risen)
