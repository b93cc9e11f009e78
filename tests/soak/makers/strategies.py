"""Ways to choose the next dough: this tool, rules of thumb, an optimiser that knows no dough, and knowing the centre.

Each is asked for the first dough with no past at all.
"""

import math
from collections.abc import Callable, Sequence
from functools import lru_cache
from itertools import pairwise, takewhile

import numpy as np
import optuna

from advisor.demands.target import next_wetness
from advisor.learning import Dough, Window, learn
from advisor.pooling.population import Population, Shop, fitted
from advisor.pooling.shared import CENTRE, share_evidence
from advisor.recipe.belief import believed, learning_rules, with_own_habits
from advisor.recipe.notebook import Notebook
from advisor.rulebook.dough import Among, DoughRules

from .worlds import BOOK, CLASSES, POWDERS, WORKABLE, Maker, World, other_makers

Past = Sequence[Dough]
Strategy = Callable[[Maker, Past], float]
_DOUGH = BOOK.dough
_SHOPS, _DOUGHS_OF_A_SHOP = 100, 20
_REACH, _STARTED_WITH = 0.8, 2
_DEGREES = {of: degree for by in CLASSES.outcomes.values() for degree, of in by.items()}


def side(outcome: int) -> int:
    """Return +1 where a dough was too dry, -1 where it was too wet, 0 where it was workable."""
    return (outcome <= WORKABLE) - (outcome > WORKABLE + 1)


def window(maker: Maker, past: Past, rules: DoughRules = _DOUGH) -> Window:
    """Return what this tool believes after some doughs."""
    belief = believed(maker.shares, BOOK.ingredients.get, {}, rules)
    return learn(past, with_own_habits(past, belief, rules), learning_rules(rules))


def this_tool(maker: Maker, past: Past, rules: DoughRules = _DOUGH) -> float:
    """Go where the window is; from the first report alone, the step of the bench."""
    if not past:
        return window(maker, past, rules).quantile(maker.shares, 0.5, heeded=True)
    last = past[-1]
    sign = side(last.outcome)
    if not sign:
        return last.log_index
    run = sum(1 for _ in takewhile(lambda one: side(one.outcome) == sign, reversed(past)))
    aim = None if len(past) == 1 else window(maker, past, rules).quantile(maker.shares, 0.5, heeded=True)
    index, centre = math.exp(last.log_index), None if aim is None else math.exp(aim)
    return math.log(next_wetness(index, sign, _step(last), centre, run, 1.0, _DOUGH.steps.least))


def pooled_tool(maker: Maker, past: Past) -> float:
    """Go as this tool goes with what other makers of the same world handed on beside its rules."""
    return this_tool(maker, past, pooled_rules(maker.world))


@lru_cache
def pooled_rules(world: World) -> DoughRules:
    """Return the rules with what other makers of a world learned, each from doughs of many blends."""
    shops = []
    for maker in other_makers(world, _SHOPS):
        doughs = tuple(maker.dough(place) for place in range(_DOUGHS_OF_A_SHOP))
        told = share_evidence(Notebook(_DOUGH, BOOK.ingredients, doughs=doughs), BOOK.edition)
        places = tuple((CENTRE, *POWDERS).index(key) for key in told.keys)
        shops.append(Shop(places, *told.information()))
    sds = np.array([_DOUGH.prior.centre_sd, *(BOOK.ingredients[key].uptake_sd for key in POWDERS)])
    found = fitted(shops, Population(np.zeros(len(sds)), sds, np.diag(sds**2), np.zeros(len(sds))))
    figures = zip((CENTRE, *POWDERS), found.mean.tolist(), found.spread.tolist(), strict=True)
    among = {key: Among(mean=mean, sd=sd, shops=_SHOPS) for key, mean, sd in figures}
    return _DOUGH.model_copy(update={"among": among})


def optimiser(maker: Maker, past: Past) -> float:
    """Ask a tree-structured Parzen estimator for the wetness that is least degrees from workable."""
    range_tried = {"index": optuna.distributions.FloatDistribution(-_REACH, _REACH)}
    optuna.logging.set_verbosity(optuna.logging.ERROR)
    sampler = optuna.samplers.TPESampler(seed=maker.seed + len(past), n_startup_trials=_STARTED_WITH)
    study = optuna.create_study(sampler=sampler)
    for one in past:
        off = abs(one.outcome - WORKABLE - 1)
        at = {"index": min(max(one.log_index, -_REACH), _REACH)}
        study.add_trial(optuna.create_trial(params=at, distributions=range_tried, value=off))
    return float(study.ask(range_tried).params["index"]) if past else 0.0


def plain_rule(maker: Maker, past: Past) -> float:
    """Take 5, 10 or 20 % of the liquid; what this tool does where nobody keeps a history."""
    return _stepped(past, 1.0)


def halving_rule(maker: Maker, past: Past) -> float:
    """Take the same steps, half as long after each turn from too wet to too dry or back."""
    sides = [sign for sign in (side(one.outcome) for one in past) if sign]
    return _stepped(past, 0.5 ** sum(a != b for a, b in pairwise(sides)))


def shrinking_rule(maker: Maker, past: Past) -> float:
    """Take the same steps, divided by the square root of the number of doughs."""
    return _stepped(past, max(len(past), 1) ** -0.5)


def oracle(maker: Maker, past: Past) -> float:
    """Know where the next dough is workable."""
    return float(maker.centres[len(past)])


STRATEGIES: dict[str, Strategy] = {
    "this tool": this_tool,
    "this tool, pooled": pooled_tool,
    "plain rule, or this tool without history": plain_rule,
    "steps halved at each turn": halving_rule,
    "steps shrinking with the doughs": shrinking_rule,
    "an optimiser for any purpose": optimiser,
    "knowing the centre": oracle,
}


def _step(last: Dough) -> float:
    return float(getattr(_DOUGH.steps, _DEGREES[last.outcome]))


def _stepped(past: Past, factor: float) -> float:
    if not past:
        return 0.0
    last = past[-1]
    sign = side(last.outcome)
    return last.log_index + (math.log1p(sign * factor * _step(last)) if sign else 0.0)
