"""Whether the fats of a dough were molten or set when it was judged."""

from collections.abc import Mapping
from typing import Literal

from advisor.recipe.measures import Amounts, Measures
from advisor.rulebook.dough import FatKind, FatRules
from advisor.rulebook.ingredient import Ingredient
from advisor.schema.recipe import Report

FatState = Literal["molten", "set", "unknown"]


def fat_states(
    report: Report, measures: Measures, amounts: Amounts, rules: FatRules, grams: float | None = None
) -> Mapping[str, FatState]:
    """Return the state in which each fat of the recipe was when the dough was judged.

    Parameters
    ----------
    report : Report
    measures, amounts
        The recipe.
    rules : FatRules
    grams : float, optional
        Mass of the batch [g]; a big one follows the room slowly.

    Notes
    -----
    Minutes alone never make a fat set: without a temperature nothing is known.
    """
    at = _temperature(report, rules, grams)
    used = [measures.ingredients[key] for key in sorted(measures.fats) if amounts.get(key)]
    return {one.key: _state(one, at, report.minutes_since_melt, rules) for one in used}


def _temperature(report: Report, rules: FatRules, grams: float | None) -> float | None:
    if report.dough_c is not None or report.minutes_since_melt is None:
        return report.dough_c
    big = grams is None or grams > rules.big_grams
    followed = report.minutes_since_melt >= (rules.room_minutes_big if big else rules.room_minutes)
    return report.room_c if followed else None


def _state(one: Ingredient, at: float | None, minutes: float | None, rules: FatRules) -> FatState:
    melts = one.material.melts_c
    if at is None or melts is None:
        return "unknown"
    if at > melts - rules.molten_below_c:
        return "molten"
    other = FatKind(components=(), sets_in_minutes=rules.other_minutes)
    kind = next((kind for kind in rules.kind if one.holds(*kind.components) >= 0.5), other)
    cool = at <= melts - rules.set_below_c and (kind.most_c is None or at <= kind.most_c)
    return "set" if cool and minutes is not None and minutes >= kind.sets_in_minutes else "unknown"


def stiffened_by_fat(
    report: Report, measures: Measures, amounts: Amounts, rules: FatRules, grams: float | None = None
) -> tuple[str, ...]:
    """Return the fatty alcohols that have set and stiffen a cooled dough, by name."""
    stiffening = measures.component(*rules.stiffening)
    if (stiffening.of(amounts) or 0.0) < rules.stiff_from_percent:
        return ()
    states = fat_states(report, measures, amounts, rules, grams)
    return tuple(measures.ingredients[key].name for key in stiffening.top if states.get(key) == "set")
