"""The strength task: how sure the active matter of a batch is."""

import math
from collections.abc import Mapping
from typing import Any

from advisor.laboratory.schema import Contribution, StrengthAnswer, StrengthRequest
from advisor.recipe.lots import lot_cautions
from advisor.recipe.notebook import Notebook
from advisor.recipe.request import Formula, opened, read_formula
from advisor.recipe.strength_spread import (
    Spread,
    Strength,
    active_terms,
    activity_spread,
    draw_error,
    weighing_terms,
)
from advisor.recipe.strength_spread import strength as spread_of
from advisor.rulebook.load import Rulebook
from advisor.schema.drying import Bounds
from advisor.schema.findings import Caution, TextItem
from advisor.schema.recipe import Band


def strength(
    request: StrengthRequest | Mapping[str, Any],
    *,
    rulebook: Rulebook | None = None,
    notebook: Notebook | None = None,
) -> StrengthAnswer:
    """Return the active matter of a batch with its spread, and the chance to lie in a band.

    Parameters
    ----------
    request : StrengthRequest or mapping
        A recipe whose materials carry low and high activities; a recipe in grams lets the balance count.
    rulebook : Rulebook, optional
        Default: the packaged one.
    notebook : Notebook, optional
        What the shop knows besides: its own materials, doughs and measured demands.

    Raises
    ------
    InvalidRequest, InvalidRecipe, UnknownMaterial

    Notes
    -----
    Lots are taken as independent. Without a band the library's default around the typical strength is used.

    Examples
    --------
    >>> lines = [{"material": "betaine-30", "percent": 30}, {"material": "isethionate-powder", "percent": 70}]
    >>> answer = strength({"recipe": {"lines": lines}, "band": {"min": 0}})
    >>> answer.chance_in_band, answer.exact
    (1.0, True)
    """
    wanted, known = opened(StrengthRequest, request, rulebook, notebook)
    rules = known.rulebook
    formula = read_formula(wanted.recipe, known)
    grams = {line.material: line.grams or 0.0 for line in wanted.recipe.lines}
    spreads = active_terms(formula.ingredients, formula.amounts)
    balance = _balance(wanted, formula)
    band = wanted.band
    if band is None or (band.min is None and band.max is None):
        own = formula.measures.active.of(formula.amounts) or 0.0
        default = rules.program.bands
        band = Band(
            min=round(max(0.0, own - default.active_below), 4),
            max=round(min(100.0, own + default.active_above), 4),
        )
    reach = (
        -math.inf if band.min is None else band.min,
        math.inf if band.max is None else band.max,
    )
    found = spread_of([*spreads.values(), *balance], rules.strength, reach)
    return StrengthAnswer(
        mean=round(found.mean, 4),
        sd=round(found.sd, 4),
        chance_in_band=round(found.chance_in_band or 0.0, 6 if found.exact else 3),
        interval80=Bounds(low=round(found.interval[0], 3), high=round(found.interval[1], 3)),
        band=band,
        exact=found.exact,
        contributions=_contributions(spreads, found),
        cautions=(
            *lot_cautions(formula.lots, known.notebook.today, grams),
            *formula.short_of(grams),
            Caution(id="declare", text=rules.strength.text["declare"], standing=True),
        ),
        notes=(*formula.notes, *_notes(wanted, formula, found, rules)),
        rules_version=rules.edition,
    )


def _balance(wanted: StrengthRequest, formula: Formula) -> list[Spread]:
    grams = formula.written.grams
    if wanted.balance_step is None or grams is None:
        return []
    activity = {key: formula.ingredients[key].active for key in formula.amounts}
    return weighing_terms(formula.amounts, activity, grams, wanted.balance_step)


def _contributions(spreads: Mapping[str, Spread], found: Strength) -> tuple[Contribution, ...]:
    whole = found.sd**2
    return tuple(
        Contribution(
            material=key,
            mean=round(spread.mean, 4),
            sd=round(math.sqrt(spread.variance), 4),
            share_of_variance=round(spread.variance / whole, 3) if whole else 0.0,
        )
        for key, spread in sorted(spreads.items(), key=lambda item: (-item[1].variance, item[0]))
    )


def _notes(
    wanted: StrengthRequest, formula: Formula, found: Strength, rules: Rulebook
) -> tuple[TextItem, ...]:
    told: dict[str, dict[str, str]] = {}
    figures = [
        formula.ingredients[key].material
        for key in formula.amounts
        if formula.ingredients[key].active > 0
        and not activity_spread(formula.ingredients[key].material).width
    ]
    if figures:
        told["exact_figure"] = {"what": "; ".join(material.name for material in figures)}
    if wanted.balance_step is not None:
        grams = formula.written.grams
        if grams is None:
            told["balance"] = {}
        else:
            told["weighing"] = {"step": f"{wanted.balance_step:g}", "grams": f"{grams:g}"}
    if found.exact:
        told["exact"] = {}
    else:
        error = draw_error(found.chance_in_band or 0.0, rules.strength.draws)
        told["drawn"] = {"draws": str(rules.strength.draws), "error": f"{100 * error:.1f}"}
    if formula.measures.cationic.of(formula.amounts):
        told["cationic"] = {}
    return tuple(rules.strength.said(kind, **filled) for kind, filled in told.items())
