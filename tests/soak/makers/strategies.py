"""Ways to choose the next dough after a report: this tool, rules of thumb, and knowing where it is workable."""

import math
from collections.abc import Callable, Sequence
from itertools import pairwise, takewhile

from advisor.demands.target import next_wetness
from advisor.learning import Dough, Prior, Window, learn
from advisor.recipe.consistency import learning_rules, prior, with_own_habits

from .worlds import BOOK, CLASSES, WORKABLE, Maker

Past = Sequence[Dough]
Strategy = Callable[[Maker, Past], float]
_DOUGH = BOOK.dough
_DEGREES = {of: degree for by in CLASSES.outcomes.values() for degree, of in by.items()}


def side(outcome: int) -> int:
    """Return +1 where a dough was too dry, -1 where it was too wet, 0 where it was workable."""
    return (outcome <= WORKABLE) - (outcome > WORKABLE + 1)


def window(maker: Maker, past: Past) -> Window:
    """Return what this tool believes after some doughs."""
    sds = {key: BOOK.ingredients[key].uptake_sd for key in maker.shares}
    belief: Prior = with_own_habits(past, prior(sds, {}, _DOUGH), _DOUGH)
    return learn(past, belief, learning_rules(_DOUGH))


def this_tool(maker: Maker, past: Past) -> float:
    """Go where the window is; from the first report alone, the step of the bench."""
    last = past[-1]
    sign = side(last.outcome)
    if not sign:
        return last.log_index
    run = sum(1 for _ in takewhile(lambda one: side(one.outcome) == sign, reversed(past)))
    centre = None if len(past) == 1 else math.exp(window(maker, past).centre(maker.shares)[0])
    index, band = math.exp(last.log_index), _DOUGH.steps.band
    return math.log(next_wetness(index, sign, _step(last), centre, run, 1.0, band))


def plain_rule(maker: Maker, past: Past) -> float:
    """Take 5, 10 or 20 % of the liquid; what this tool does where nobody keeps a history."""
    return _stepped(past, 1.0)


def halving_rule(maker: Maker, past: Past) -> float:
    """Take the same steps, half as long after each turn from too wet to too dry or back."""
    sides = [sign for sign in (side(one.outcome) for one in past) if sign]
    return _stepped(past, 0.5 ** sum(a != b for a, b in pairwise(sides)))


def shrinking_rule(maker: Maker, past: Past) -> float:
    """Take the same steps, divided by the square root of the number of doughs."""
    return _stepped(past, len(past) ** -0.5)


def oracle(maker: Maker, past: Past) -> float:
    """Know where the next dough is workable."""
    return float(maker.centres[len(past)])


STRATEGIES: dict[str, Strategy] = {
    "this tool": this_tool,
    "plain rule, or this tool without history": plain_rule,
    "steps halved at each turn": halving_rule,
    "steps shrinking with the doughs": shrinking_rule,
    "knowing the centre": oracle,
}


def _step(last: Dough) -> float:
    return float(getattr(_DOUGH.steps, _DEGREES[last.outcome]))


def _stepped(past: Past, factor: float) -> float:
    last = past[-1]
    sign = side(last.outcome)
    return last.log_index + (math.log1p(sign * factor * _step(last)) if sign else 0.0)
