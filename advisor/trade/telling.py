"""The one place that picks which process steps, questions, advice and cautions a case calls for."""

from collections.abc import Iterable, Mapping
from functools import lru_cache

from advisor.figures import BenchItem, CautionRules, DoughRules, Trait, Traits
from advisor.shapes.findings import TextItem
from advisor.shapes.report import Report
from advisor.trade.ingredient import Ingredient
from advisor.trade.law import LawBook
from advisor.trade.measures import Amounts, Measures
from advisor.trade.same import Same

_REMEMBERED = 8192


def traits(measures: Measures, amounts: Amounts, rules: DoughRules, by: Traits) -> frozenset[Trait]:
    """Return what can be said of a recipe without having felt it."""
    in_use = [one for key, one in measures.ingredients.items() if amounts.get(key)]
    found: set[Trait] = set()
    if (measures.coarse_share.of(amounts) or 0.0) > rules.coarse.share_at_most:
        found.add("coarse")
    if any(one.liquid_warm > one.liquid_cold for one in in_use):
        found.add("melting")
    warm, cold = measures.wetness("warm").of(amounts), measures.wetness("cold").of(amounts)
    if warm and cold is not None and (warm - cold) / warm > rules.temperatures.fat_gap:
        found.add("fat_gap")
    if measures.humectants.of(amounts):
        found.add("humectant")
    if measures.oils.of(amounts):
        found.add("oil")
    if any("fragrance" in one.material.roles for one in in_use):
        found.add("fragrance")
    groups: tuple[tuple[Trait, tuple[str, ...]], ...] = (
        ("clay", by.clay),
        ("starch", by.starch),
        ("hygroscopic", by.hygroscopic),
    )
    for trait, components in groups:
        held = sum(amounts[one.key] * one.holds(*components) for one in in_use)
        if 100 * held >= by.at_least_percent * sum(amounts.values()):
            found.add(trait)
    return frozenset(found)


def applicable(items: Iterable[BenchItem], report: Report, of: frozenset[Trait]) -> tuple[TextItem, ...]:
    """Return the items whose every condition the report and the recipe meet."""
    return tuple(_told(item, report) for item in items if _applies(item, report, of))


def _applies(item: BenchItem, report: Report, of: frozenset[Trait]) -> bool:
    if item.feels and report.feel not in item.feels:
        return False
    if item.degrees and report.degree not in item.degrees:
        return False
    if item.signs and not set(item.signs) & set(report.signs):
        return False
    if item.methods and report.method not in item.methods:
        return False
    if not set(item.recipe) <= of:
        return False
    if any(getattr(report, field) is not None for field in item.unless):
        return False
    if item.field is None:
        return True
    value = getattr(report, item.field)
    if value is None:
        return False
    return (item.above is None or value > item.above) and (item.below is None or value < item.below)


def _told(item: BenchItem, report: Report) -> TextItem:
    value = getattr(report, item.field) if item.field else None
    text = item.text if value is None else item.text.replace("{value}", f"{value:g}")
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
    told = []
    for rule in rules:
        if (
            rule.always
            or (rule.laws and law is not None)
            or (rule.no_law and law is None and law_asked)
            or (rule.estimates and estimates)
            or (rule.allergens and allergens)
            or set(rule.advice) & given
            or any(_meets(Same(rule), one) for one in ingredients.values())
        ):
            text = rule.text.replace("{allergens}", "; ".join(allergens))
            if law is not None:
                text = text.replace("{text_of}", law.text_of).replace("{law}", law.title)
            told.append(TextItem(id=rule.id, text=text))
    return tuple(told)


@lru_cache(maxsize=_REMEMBERED)
def _meets(of: Same[CautionRules], one: Ingredient) -> bool:
    rule = of.thing
    return (
        one.material.form in rule.forms
        or one.material.charge in rule.charges
        or bool(set(one.material.roles) & set(rule.roles))
        or any(code in hazard for hazard in one.material.hazards for code in rule.hazards)
        or any(one.holds(name) for name in rule.components)
    )
