"""Which process steps, questions and advice a report calls for."""

from collections.abc import Iterable, Mapping

from advisor.recipe.grams import listed
from advisor.recipe.measures import Amounts, Measures
from advisor.rulebook.bench import BenchItem, Trait, Traits
from advisor.rulebook.dough import DoughRules
from advisor.rulebook.ingredient import Ingredient
from advisor.schema.findings import TextItem
from advisor.schema.recipe import Report


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
        held = [one for one in in_use if one.holds(*components)]
        return held if sum(100 * amounts[one.key] * one.holds(*components) for one in held) >= least else []

    found: dict[Trait, list[Ingredient]] = {
        "coarse": [one for one in in_use if one.coarse] if coarse else [],
        "melting": melting,
        "soft_fat": [one for one in melting if (one.material.melts_c or 0.0) < by.soft_fat_below_c],
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
    if item.signs and set(item.signs).isdisjoint(report.signs):
        return False
    if item.also_signs and set(item.also_signs).isdisjoint(report.signs):
        return False
    if item.methods and report.method not in item.methods:
        return False
    if not of.keys() >= set(item.recipe) or not of.keys().isdisjoint(item.lacks):
        return False
    if item.unless and any(getattr(report, field) is not None for field in item.unless):
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
