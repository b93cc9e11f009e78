"""What a dough is called: wetness, cohesion, the word for it and its chances."""

import math
from collections.abc import Mapping, Sequence

from advisor.frozen import dataclass, field
from advisor.learning import Dough, Window
from advisor.recipe.belief import lot_key, method_key
from advisor.recipe.demand import Measure
from advisor.recipe.measures import Amounts, Measures
from advisor.recipe.request import Formula
from advisor.rulebook.dough import DoughRules
from advisor.rulebook.ingredient import Ingredient
from advisor.schema.base import Degree, Feel
from advisor.schema.findings import Consistency, Word
from advisor.schema.recipe import Method, Report


@dataclass(frozen=True, slots=True)
class Judged:
    """A dough somebody judged: its measures, its amounts, the report, and what else it was made by and of.

    ``lots`` names the lot of a material by its key; ``weight`` is how much it counts, 0..1.
    """

    measures: Measures
    amounts: Amounts
    feel: Feel
    degree: Degree
    method: Method | None = None
    lots: Mapping[str, str] = field(default_factory=dict)
    weight: float = 1.0

    @classmethod
    def of(cls, formula: Formula, report: Report) -> "Judged":
        """Return a recipe as it was reported."""
        said = report.feel, report.degree, report.method
        return cls(formula.measures, formula.amounts, *said, formula.lot_names)


def outcome_of(feel: Feel, degree: Degree, rules: DoughRules) -> int | None:
    """Return the class of wetness a report stands for; None where it says nothing of wetness."""
    return rules.classes.outcomes.get(feel, {}).get(degree)


def evidence(judged: Sequence[Judged], rules: DoughRules) -> list[Dough]:
    """Return the judged doughs that say something about wetness as evidence of the window."""
    doughs = []
    for one in judged:
        outcome = outcome_of(one.feel, one.degree, rules)
        index = one.measures.wetness().of(one.amounts)
        if outcome is not None and index:
            powders = one.measures.demand_shares(one.amounts)
            shares = window_shares(powders, rules, method=one.method, lots=one.lots)
            width = window_width(powders, one.measures.ingredients, rules)
            doughs.append(Dough(math.log(index), shares, outcome, one.weight, width))
    return doughs


def window_shares(
    powders: Mapping[str, float],
    rules: DoughRules,
    *,
    method: Method | None = None,
    lots: Mapping[str, str] | None = None,
) -> dict[str, float]:
    """Return what shifts the window of a dough: its powders, their lots, and an unusual method.

    The share of a lot is that of its powder, so that lots of one powder are held together by what the powder
    has in common.
    """
    of_lots = {
        lot_key(powder, lot): powders[powder] for powder, lot in (lots or {}).items() if powder in powders
    }
    if method is not None and method != rules.pooling.usual_method:
        return {**powders, **of_lots, method_key(method): 1.0}
    return {**powders, **of_lots}


def window_width(powders: Mapping[str, float], of: Mapping[str, Ingredient], rules: DoughRules) -> float:
    """Return how wide the window of these powders is, as a factor on the usual [-].

    Examples
    --------
    >>> from advisor.rulebook.load import load_rulebook
    >>> book = load_rulebook()
    >>> window_width({"kaolin": 1.0}, book.ingredients, book.dough)
    1.5
    """
    figures = rules.width
    for components, width in ((figures.soluble, figures.narrow), (figures.clay_or_starch, figures.wide)):
        rich = sum(
            share for key, share in powders.items() if of[key].holds(*components) >= figures.rich_share
        )
        if rich >= figures.rich_share:
            return width
    return 1.0


def consistency(
    measures: Measures,
    amounts: Amounts,
    learned: Window | None,
    rules: DoughRules,
    *,
    own: bool,
    method: Method | None = None,
    lots: Mapping[str, str] | None = None,
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
        Whether the maker's own doughs say more of this recipe than what is believed without them.
    method : str, optional
        How the dough is kneaded.
    lots : mapping, optional
        The lot of a material, by its key.

    Notes
    -----
    Before any dough was judged nobody knows whether melting fats count as liquid: a word is given only where
    the warm and the cold dough deserve the same.
    """
    index = measures.wetness().of(amounts)
    if not index or learned is None:
        return _without_dough(measures, amounts)
    powders = measures.demand_shares(amounts)
    shares = window_shares(powders, rules, method=method, lots=lots)
    width = window_width(powders, measures.ingredients, rules)
    chances = learned.chances(math.log(index), shares, width)
    best = learned.best_chance(width)
    word = _word(chances, best, rules)
    cold = measures.wetness("cold").of(amounts)
    if not learned.support and cold:
        as_cold = _word(learned.chances(math.log(cold), shares, width), best, rules)
        word = word if as_cold == word else "unknown"
    workable = rules.classes.names.index("workable")
    return Consistency(
        liquid_to_powder=_rounded(measures.liquid_to_powder, amounts),
        wetness=round(index, 3),
        wetness_at_20c=_rounded(measures.wetness("cold"), amounts),
        word=word,
        watery_share=_rounded(measures.watery_share, amounts),
        oil_per_powder=_rounded(measures.oil_per_powder, amounts),
        coarse_share=_rounded(measures.coarse_share, amounts),
        chance_workable=round(chances[workable], 2),
        chance_close=round(sum(chances[workable - 1 : workable + 2]), 2),
        basis="own" if own else "pooled" if rules.among else "estimate",
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


def _word(chances: Sequence[float], best: float, rules: DoughRules) -> Word:
    """Return the word of the side that has the chance the rules ask for, else unknown.

    A side is everything drier than workable, or everything wetter; ``workable`` needs that chance of being
    no worse than slightly off, and a share of the best chance that a dough of these powders can have.
    """
    names, needed = rules.classes.names, rules.classes.word_needs_chance
    middle = names.index("workable")
    dry, wet = sum(chances[:middle]), sum(chances[middle + 1 :])
    if dry >= needed:
        return "slightly_dry" if chances[middle - 1] > dry / 2 else "dry"
    if wet >= needed:
        return "slightly_wet" if chances[middle + 1] > wet / 2 else "wet"
    deserved = chances[middle] >= rules.classes.workable_from * best
    if deserved and sum(chances[middle - 1 : middle + 2]) >= needed:
        return "workable"
    return "unknown"
