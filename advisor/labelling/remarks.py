"""What a maker is told beside an ingredient list."""

from collections.abc import Sequence

from advisor.labelling.declared import declaration, sheet_missing
from advisor.labelling.ingredient_list import IngredientList, Lines, allergens_named
from advisor.labelling.particulars import also_needed
from advisor.rulebook.label import LabelRules
from advisor.rulebook.substances import Substances
from advisor.schema.base import Market
from advisor.schema.findings import TextItem
from advisor.schema.material import Material
from advisor.sums import summed


def label_remarks(
    lines: Lines, market: Market, found: IngredientList, rules: LabelRules, substances: Substances
) -> tuple[TextItem, ...]:
    """Return the remarks on a label, each with a stable id.

    Parameters
    ----------
    lines : sequence of (percent, Material)
        The recipe as made [% by mass].
    market : Market
        The market of the list.
    found : IngredientList
        What ``ingredient_list`` gives for the same recipe and market.
    rules : LabelRules
        Thresholds, words and sentences.
    substances : mapping
        Which substances release formaldehyde.
    """
    materials = [material for _, material in sorted(lines, key=lambda line: line[1].key)]
    said = [
        *([_said("market", "", rules)] if market == "none" else []),
        *_names("sheet", [m.name for m in materials if sheet_missing(m, rules)], rules),
        *_no_rule(found, market, rules),
        *_formaldehyde(lines, market, rules, substances),
        *_declarations(materials, market, rules),
        *_free_order(found, rules),
        *_for_the_maker(materials, rules),
        *_names("also", also_needed(market, rules), rules),
    ]
    return tuple(said)


def _said(kind: str, what: str, rules: LabelRules, rest: str = "") -> TextItem:
    return TextItem(id=kind.replace("_", "-"), text=rules.text[kind].format(what=what, rest=rest).strip())


def _names(kind: str, names: Sequence[str], rules: LabelRules) -> list[TextItem]:
    return [_said(kind, "; ".join(dict.fromkeys(names)), rules)] if names else []


def _no_rule(found: IngredientList, market: Market, rules: LabelRules) -> list[TextItem]:
    if not found.allergens or allergens_named(market, rules):
        return []
    return [_said("no_rule", "; ".join(found.allergens), rules, f"{rules.allergens.rinse_off_percent:g}")]


def _formaldehyde(lines: Lines, market: Market, rules: LabelRules, substances: Substances) -> list[TextItem]:
    if market != "none" and market not in rules.formaldehyde.markets:
        return []
    amounts = summed(
        (substance.name, percent * share / 100)
        for percent, material in lines
        for name, share in material.composition.items()
        if (substance := substances.get(name.casefold())) is not None and substance.formaldehyde
    )
    if sum(amounts.values()) <= rules.formaldehyde.percent:
        return []
    return [_said("formaldehyde", "; ".join(sorted(amounts)), rules, f"{rules.formaldehyde.percent:g}")]


def _declarations(materials: Sequence[Material], market: Market, rules: LabelRules) -> list[TextItem]:
    built, borrowed, unplaced = [], [], []
    for material in materials:
        stated = declaration(material, market, rules)
        if stated.from_composition:
            built.append(material.name)
        if stated.of_other_market:
            borrowed.append(material.name)
        unplaced += [name.name for name in stated.names if name.share is None]
    return [
        *_names("composition", built, rules),
        *_names("names", borrowed, rules),
        *_names("amount", unplaced, rules),
    ]


def _free_order(found: IngredientList, rules: LabelRules) -> list[TextItem]:
    if found.free_order_from is None or found.ingredients[found.free_order_from].colourant:
        return []
    return [_said("free", found.ingredients[found.free_order_from].name, rules)]


def _for_the_maker(materials: Sequence[Material], rules: LabelRules) -> list[TextItem]:
    """Return known allergens by origin; whole words are looked for in names and allergen texts."""
    said = []
    for remark in rules.maker:
        held = [material.name for material in materials if _speaks_of(material, remark.words)]
        if held:
            said.append(
                TextItem(
                    id=f"maker-{remark.id}",
                    text=rules.text["maker"].format(what="; ".join(held), rest=remark.text),
                )
            )
    return said


def _speaks_of(material: Material, words: Sequence[str]) -> bool:
    texts = [text.casefold() for text in (material.name, *material.composition, *material.allergens)]
    padded = [f" {''.join(c if c.isalnum() else ' ' for c in text)} " for text in texts]
    return any(f" {word.casefold()} " in text for word in words for text in padded)
