"""Keeps the strength inside its band with the confidence that was wished."""

import math
from collections.abc import Mapping

from advisor.case.solve import Attempt, Program, solve
from advisor.frozen import replace
from advisor.recipe.demand import Demand
from advisor.recipe.measures import Amounts
from advisor.recipe.strength_spread import active_terms
from advisor.recipe.strength_spread import strength as spread_of
from advisor.rulebook.ingredient import Ingredient
from advisor.rulebook.load import Rulebook
from advisor.schema.findings import TextItem

_HALVINGS = 5
_NARROWEST = 0.95


def chance_in_band(
    ingredients: Mapping[str, Ingredient], amounts: Amounts, band: Demand, rulebook: Rulebook
) -> float:
    """Return the chance [0..1] that the active matter lies in a band while every lot varies in its range."""
    reach = (
        -math.inf if band.minimum is None else band.minimum,
        math.inf if band.maximum is None else band.maximum,
    )
    terms = list(active_terms(ingredients, amounts).values())
    return spread_of(terms, rulebook.strength, reach).chance_in_band or 0.0


def attempt(program: Program, confidence: float | None, rulebook: Rulebook) -> Attempt:
    """Try a program, its band of active matter narrowed as the confidence needs, or as far as it helps.

    Parameters
    ----------
    program : Program
    confidence : float, optional
        Wished chance that the strength is inside its band [0.5..0.99]; without it the band is as it is.
    rulebook : Rulebook

    Notes
    -----
    The narrowed band is the same row with other bounds, so every narrower plan is still checked and explained
    by its demands; the chance itself is reckoned from the ranges of the lots, not from a bound on it.
    """
    if confidence is None:
        return Attempt(program, solve(program))
    band = next(demand for demand in program.hard if demand.group == "active")
    reach = program.rules.bands.one_sided_reach

    def tried(share: float) -> tuple[Attempt, float]:
        narrower = replace(
            program, hard=[_narrowed(one, share, reach) if one is band else one for one in program.hard]
        )
        found = Attempt(narrower, solve(narrower))
        if found.solved is None:
            return found, -1.0
        amounts = found.solved.plan.amounts
        return found, chance_in_band(program.ingredients, amounts, band, rulebook)

    plain, chance = tried(0.0)
    if plain.solved is None or chance >= confidence:
        return plain
    best, reached, low, high = plain, chance, 0.0, _NARROWEST
    middle, chance = tried(high)
    if chance > reached:
        best, reached = middle, chance
    if reached < confidence:
        return best
    for _ in range(_HALVINGS):
        share = (low + high) / 2
        found, chance = tried(share)
        if chance >= confidence:
            best, high = found, share
        else:
            low = share
    return best


def _narrowed(band: Demand, share: float, reach: float) -> Demand:
    """Return a band with both ends moved toward its middle; an open end stays open.

    A one-sided band moves its end by up to ``reach`` of itself.
    """
    low, high = band.minimum, band.maximum
    if low is not None and high is not None:
        inward = (high - low) / 2 * share
        return replace(band, minimum=low + inward, maximum=high - inward)
    if low is not None:
        return replace(band, minimum=low * (1 + reach * share))
    return replace(band, maximum=None if high is None else high * (1 - reach * share))


def confidence_note(
    ingredients: Mapping[str, Ingredient], amounts: Amounts, band: Demand, wished: float, rulebook: Rulebook
) -> TextItem:
    """Return what confidence the answer reaches, and what would raise it."""
    reached = chance_in_band(ingredients, amounts, band, rulebook)
    said = "more than 99 %" if reached > 0.99 else f"{100 * reached:.0f} %"
    asked = f"{100 * wished:.0f} %"
    text = f"With lots that vary within their ranges the strength is inside its band in {said} of batches"
    if reached >= wished:
        return TextItem(id="confidence", text=f"{text}; {asked} was wished.")
    terms = active_terms(ingredients, amounts)
    widest = max(terms, key=lambda key: (terms[key].variance, key))
    more = f"A certificate of this lot of {ingredients[widest].name} would allow more, or a wider band."
    text = f"{text}, not in the {asked} that was wished: more is not to be had from this recipe. {more}"
    return TextItem(id="confidence", text=text)
