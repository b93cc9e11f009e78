"""The one place of what a dough is called: wetness, cohesion, the word for it and its chances."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from advisor.figures import DoughRules
from advisor.shapes.base import Degree, Feel
from advisor.shapes.findings import Consistency, Word
from advisor.trade.demand import Measure
from advisor.trade.measures import Amounts, Measures
from advisor.window import Dough, LearningRules, Prior, Window, learn


@dataclass(frozen=True, slots=True)
class Judged:
    """A dough somebody judged: its measures, its amounts and the report."""

    measures: Measures
    amounts: Amounts
    feel: Feel
    degree: Degree


def evidence(judged: Sequence[Judged], rules: DoughRules) -> list[Dough]:
    """Return the judged doughs that say something about wetness as evidence of the window."""
    doughs = []
    for one in judged:
        outcome = rules.classes.outcomes.get(one.feel, {}).get(one.degree)
        index = one.measures.wetness().of(one.amounts)
        if outcome is not None and index:
            doughs.append(Dough(math.log(index), one.measures.demand_shares(one.amounts), outcome))
    return doughs


def window(doughs: Sequence[Dough], uptake_sds: Mapping[str, float], rules: DoughRules) -> Window:
    """Return what the doughs teach of the workable window, from the prior of the rules."""
    prior = Prior(
        thresholds=rules.classes.thresholds,
        spread=rules.classes.spread,
        centre=rules.prior.centre_mean,
        centre_sd=rules.prior.centre_sd,
        demand_sds=uptake_sds,
    )
    learning = LearningRules(**rules.learning.model_dump(exclude={"basis", "source"}))
    return learn(doughs, prior, learning)


def consistency(
    measures: Measures, amounts: Amounts, learned: Window | None, rules: DoughRules, *, own: bool
) -> Consistency:
    """Return how wet a recipe is for its powders; ratios are None where it has no powder or no liquid.

    Parameters
    ----------
    measures, amounts
        The recipe.
    learned : Window, optional
        What all evidence says of the window; None for a recipe with no powder or no liquid.
    rules : DoughRules
    own : bool
        Whether the maker's own doughs are among the evidence.
    """
    index = measures.wetness().of(amounts)
    if not index or learned is None:
        return _without_dough(measures, amounts)
    chances = learned.chances(math.log(index), measures.demand_shares(amounts))
    workable = rules.classes.names.index("workable")
    return Consistency(
        liquid_to_powder=_rounded(measures.liquid_to_powder, amounts),
        wetness=round(index, 3),
        wetness_at_20c=_rounded(measures.wetness("cold"), amounts),
        word=_word(chances, rules),
        watery_share=_rounded(measures.watery_share, amounts),
        oil_per_powder=_rounded(measures.oil_per_powder, amounts),
        coarse_share=_rounded(measures.coarse_share, amounts),
        chance_workable=round(chances[workable], 2),
        chance_close=round(sum(chances[workable - 1 : workable + 2]), 2),
        basis="own" if own else "estimate",
    )


def _without_dough(measures: Measures, amounts: Amounts) -> Consistency:
    return Consistency(
        liquid_to_powder=None,
        wetness=None,
        wetness_at_20c=None,
        word="unknown",
        watery_share=None,
        oil_per_powder=None,
        coarse_share=_rounded(measures.coarse_share, amounts),
        chance_workable=None,
        chance_close=None,
        basis="estimate",
    )


def _rounded(measure: Measure, amounts: Amounts) -> float | None:
    value = measure.of(amounts)
    return None if value is None else round(value, 3)


def _word(chances: Sequence[float], rules: DoughRules) -> Word:
    """Return the word of the side that has the chance the rules ask for, else unknown.

    A side is everything drier than workable, or everything wetter; ``workable`` needs the chance of being
    no worse than slightly off.
    """
    names, needed = rules.classes.names, rules.classes.word_needs_chance
    middle = names.index("workable")
    dry, wet = sum(chances[:middle]), sum(chances[middle + 1 :])
    if dry >= needed:
        return "slightly_dry" if chances[middle - 1] > dry / 2 else "dry"
    if wet >= needed:
        return "slightly_wet" if chances[middle + 1] > wet / 2 else "wet"
    if sum(chances[middle - 1 : middle + 2]) >= needed:
        return "workable"
    return "unknown"
