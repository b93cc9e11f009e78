"""Picks which process steps, questions, advice and cautions a case calls for."""

from collections.abc import Iterable, Mapping
from functools import lru_cache

from advisor.recipe.grams import listed
from advisor.recipe.measures import Amounts, Measures
from advisor.rulebook.bench import BenchItem, CautionRules, Trait, Traits
from advisor.rulebook.dough import DoughRules
from advisor.rulebook.identity import ByIdentity
from advisor.rulebook.ingredient import Ingredient
from advisor.rulebook.law import LawBook
from advisor.schema.findings import TextItem
from advisor.schema.report import Report

_REMEMBERED = 8192


def traits(
    measures: Measures, amounts: Amounts, rules: DoughRules, by: Traits
) -> Mapping[Trait, tuple[str, ...]]:
    """Return what can be said of a recipe without having felt it, with the materials that bring it."""
    in_use = [one for key, one in measures.ingredients.items() if amounts.get(key)]
    melting = [one for one in in_use if one.liquid_warm > one.liquid_cold]
    warm, cold = measures.wetness("warm").of(amounts), measures.wetness("cold").of(amounts)
    gap = warm and cold is not None and (warm - cold) / warm > rules.temperatures.fat_gap
    coarse = (measures.coarse_share.of(amounts) or 0.0) > rules.coarse.share_at_most
    least = by.at_least_percent * sum(amounts.values())

    def holding(components: tuple[str, ...]) -> list[Ingredient]:
        holds = [(one, 100 * amounts[one.key] * one.holds(*components)) for one in in_use]
        return [one for one, held in holds if held] if sum(held for _, held in holds) >= least else []

    found: dict[Trait, list[Ingredient]] = {
        "coarse": [one for one in in_use if one.coarse] if coarse else [],
        "melting": melting,
        "fat_gap": melting if gap else [],
        "humectant": [one for one in in_use if one.key in measures.humectants.top],
        "oil": [one for one in in_use if one.key in measures.oils.top],
        "fragrance": [one for one in in_use if "fragrance" in one.material.roles],
        "clay": holding(by.clay),
        "starch": holding(by.starch),
        "hygroscopic": holding(by.hygroscopic),
    }
    return {trait: tuple(one.name for one in some) for trait, some in found.items() if some}


def applicable(
    items: Iterable[BenchItem], report: Report, of: Mapping[Trait, tuple[str, ...]]
) -> tuple[TextItem, ...]:
    """Return the items whose every condition the report and the recipe meet."""
    return tuple(_filled(item, report, of) for item in items if _applies(item, report, of))


def _applies(item: BenchItem, report: Report, of: Mapping[Trait, tuple[str, ...]]) -> bool:
    if item.feels and report.feel not in item.feels:
        return False
    if item.degrees and report.degree not in item.degrees:
        return False
    if any(signs and not set(signs) & set(report.signs) for signs in (item.signs, item.also_signs)):
        return False
    if item.methods and report.method not in item.methods:
        return False
    if not of.keys() >= set(item.recipe) or of.keys() & set(item.lacks):
        return False
    if any(getattr(report, field) is not None for field in item.unless):
        return False
    if item.field is None:
        return True
    value = getattr(report, item.field)
    if value is None:
        return False
    return (item.above is None or value > item.above) and (item.below is None or value < item.below)


def _filled(item: BenchItem, report: Report, of: Mapping[Trait, tuple[str, ...]]) -> TextItem:
    value = getattr(report, item.field) if item.field else None
    text = item.text if value is None else item.text.replace("{value}", f"{value:g}")
    if item.recipe:
        names = dict.fromkeys(name for trait in item.recipe for name in of[trait])
        text = text.replace("{names}", listed(names))
    return TextItem(id=item.id, text=text)


def cautions(
    rules: Iterable[CautionRules],
    ingredients: Mapping[str, Ingredient],
    law: LawBook | None,
    *,
    estimates: bool,
    law_asked: bool = True,
    advice: Iterable[str] = (),
) -> tuple[TextItem, ...]:
    """Return the cautions that the materials in use, the law and the advice call for.

    Parameters
    ----------
    ingredients : mapping
        The materials in use, those of the answer included.
    estimates : bool
        Whether the answer rests on an estimated uptake or wetting.
    law_asked : bool
        Whether a market could have been named: only then is its absence worth a caution.
    """
    allergens = sorted({text for one in ingredients.values() for text in one.material.allergens})
    given = set(advice)
    told: dict[str, TextItem] = {}
    for rule in rules:
        called_for = (
            rule.always
            or (rule.laws and law is not None)
            or (rule.no_law and law is None and law_asked)
            or (rule.estimates and estimates)
            or (rule.allergens and allergens)
            or set(rule.advice) & given
            or any(_meets(ByIdentity(rule), one) for one in ingredients.values())
        )
        if called_for and told.keys().isdisjoint(rule.unless):
            text = rule.text.replace("{allergens}", "; ".join(allergens))
            if law is not None:
                text = text.replace("{text_of}", law.text_of).replace("{law}", law.title)
            told[rule.id] = TextItem(id=rule.id, text=text)
    return tuple(told.values())


@lru_cache(maxsize=_REMEMBERED)
def _meets(of: ByIdentity[CautionRules], one: Ingredient) -> bool:
    rule, material = of.thing, one.material
    conditions = (
        (rule.forms, material.form in rule.forms),
        (rule.charges, material.charge in rule.charges),
        (rule.roles, bool(set(material.roles) & set(rule.roles))),
        (rule.hazards, any(code in hazard for hazard in material.hazards for code in rule.hazards)),
        (rule.components, any(one.holds(name) for name in rule.components)),
    )
    named = [met for wanted, met in conditions if wanted]
    return bool(named) and all(named)
