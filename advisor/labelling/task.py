"""The label task: the ingredient list of a recipe, and what else a label asks for."""

from collections.abc import Iterator, Mapping
from typing import Any

from advisor.case.case import Case, Reading
from advisor.case.watch import cautions_of
from advisor.labelling.ingredient_list import (
    IngredientList,
    Lines,
    allergens_named,
    ingredient_list,
    label_change,
)
from advisor.labelling.notes import law_notes
from advisor.labelling.particulars import also_needed, filled
from advisor.labelling.remarks import label_remarks
from advisor.labelling.schema import LabelAnswer, LabelRequest, OrderChange
from advisor.law.notes import duty_notes
from advisor.recipe.notebook import Notebook
from advisor.recipe.request import Formula, KnownMaterials, opened, read_formula
from advisor.rulebook.load import Rulebook
from advisor.schema.base import Market
from advisor.schema.findings import TextItem
from advisor.schema.recipe import Recipe, Wishes


def label(
    request: LabelRequest | Mapping[str, Any],
    *,
    rulebook: Rulebook | None = None,
    notebook: Notebook | None = None,
) -> LabelAnswer:
    """Return the ingredient list of a recipe for a market.

    Parameters
    ----------
    request : LabelRequest or mapping
        The recipe and the market; ``previous`` an earlier list of names or an earlier recipe.
    rulebook : Rulebook, optional
        Default: the packaged one.
    notebook : Notebook, optional
        What the shop knows besides: its own materials, and who answers for its bars.

    Raises
    ------
    InvalidRequest, InvalidRecipe, UnknownMaterial

    Notes
    -----
    Names come from the supplier's declaration where a material has one. A list is not a label: the remarks
    say what else it needs.

    Examples
    --------
    >>> lines = [{"material": "betaine-30", "percent": 30}, {"material": "isethionate-powder", "percent": 70}]
    >>> label({"recipe": {"lines": lines}, "market": "eu"}).ingredients
    ('Sodium Cocoyl Isethionate', 'Aqua', 'Cocamidopropyl Betaine')
    """
    wanted, known = opened(LabelRequest, request, rulebook, notebook)
    rules = known.rulebook
    formula = read_formula(wanted.recipe, known)
    lines = _lines(formula)
    found = ingredient_list(lines, wanted.market, rules.label)
    heeded = rules.label.heed.cautions
    wishes = Wishes(market=wanted.market, used_on=wanted.used_on)
    case = Case.at(formula, known, wishes=wishes, reading=Reading.of(wanted))
    way = rules.label.market["eu" if wanted.market == "none" else wanted.market]
    return LabelAnswer(
        name=formula.written.name,
        market=wanted.market,
        ingredients=found.names,
        free_order_from=found.free_order_from,
        allergens=found.allergens if allergens_named(wanted.market, rules.label) else (),
        remarks=(
            *label_remarks(lines, wanted.market, found, rules.label, rules.substances),
            *_forbidden(case),
            *law_notes(case, formula.amounts, whole=True),
            *duty_notes(case.law, rules.law_words, case.day),
        ),
        also=also_needed(wanted.market, rules.label),
        filled=filled(wanted.market, wanted.particulars, known.notebook.facts, rules.label),
        order_changed_from=_changed(wanted, found, known, rules),
        listed=found.ingredients,
        text=", ".join(found.names),
        basis=way.basis,
        source=way.source,
        cautions=tuple(item for item in cautions_of(case, formula.amounts) if item.id in heeded),
        notes=formula.notes,
        rules_version=rules.edition,
    )


def _forbidden(case: Case) -> Iterator[TextItem]:
    """Return the pairs of the recipe that the law of the market forbids."""
    of = case.formula.ingredients
    for met in case.context.forbidden.met(case.formula.amounts, of):
        yield TextItem(id=met.rules.id, text=met.text(of))


def _lines(formula: Formula) -> Lines:
    return [(percent, formula.ingredients[key].material) for key, percent in formula.amounts.items()]


def _changed(
    wanted: LabelRequest, found: IngredientList, known: KnownMaterials, rules: Rulebook
) -> OrderChange | None:
    if wanted.previous is None:
        return None
    previous = _names(wanted.previous, wanted.market, known, rules)
    return label_change(previous, found, rules.label)


def _names(
    previous: tuple[str, ...] | Recipe, market: Market, known: KnownMaterials, rules: Rulebook
) -> tuple[str, ...]:
    if isinstance(previous, Recipe):
        return ingredient_list(
            _lines(read_formula(previous, known, where="/previous")), market, rules.label
        ).names
    return previous
