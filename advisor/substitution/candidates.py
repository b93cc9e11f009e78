"""Which materials are tried in the place of a missing one, and which are turned away unsolved."""

from collections.abc import Mapping

from advisor.case.case import Case
from advisor.case.shelf import company, refuse_unpriced, sifted
from advisor.demands.use import may_join
from advisor.frozen import dataclass
from advisor.recipe.request import KnownMaterials
from advisor.rulebook.ingredient import Ingredient
from advisor.schema.findings import TextItem
from advisor.substitution.ranking import most_alike
from advisor.substitution.replacement import Gap
from advisor.substitution.schema import Rejected


def of_its_role(gap: Gap, known: KnownMaterials) -> dict[str, Ingredient]:
    """Return every material of the library and the request that has the role of the missing one."""
    everything = {**known.rulebook.ingredients, **known.notebook.materials, **known.inline}
    return {key: one for key, one in everything.items() if gap.belongs(one)}


@dataclass(frozen=True)
class Candidates:
    """Which materials are tried, what else may be used, and what is said of the others.

    ``live`` are those tried, ``at_hand`` the recipe and what of the shelf may join it.
    """

    live: Mapping[str, Ingredient]
    at_hand: Mapping[str, Ingredient]
    rejected: tuple[Rejected, ...]
    notes: tuple[TextItem, ...]


def sort_out(case: Case, gap: Gap, candidates: Mapping[str, Ingredient]) -> Candidates:
    """Hold every candidate and the shelf against the named rules.

    Raises
    ------
    InvalidRequest
        The lowest cost is asked for and a material of the recipe has no price.
    """
    recipe = {key: one for key, one in case.formula.ingredients.items() if case.formula.amounts[key]}
    others = {key: one for key, one in recipe.items() if key != gap.one.key or gap.left}
    cheapest = case.wishes.aim == "lowest_cost"
    if cheapest:
        refuse_unpriced(others)
    there = company(others, case)

    def rule_against(one: Ingredient) -> TextItem | None:
        named = case.ban(one) or gap.named_rule(one, there)
        if named is not None:
            return named
        if cheapest and one.price is None:
            return TextItem(id="no-price", text=gap.text("no_price", name=one.name))
        if gap.share(one) > 0:
            return None
        text = gap.text("no_function", name=one.name, missing=gap.one.name, brings=gap.brings)
        return TextItem(id="no-recipe-fits", text=text)

    rules = {key: rule_against(one) for key, one in sorted(candidates.items())}
    fit = [candidates[key] for key, rule in rules.items() if rule is None]
    most = gap.rules.trying.materials_at_most
    tried = {one.key: one for one in most_alike(gap.one, fit, most, gap.rules.ranking)}
    for one in fit:
        if one.key not in tried:
            text = gap.text("not_tried", name=one.name, count=len(fit), most=most, missing=gap.one.name)
            rules[one.key] = TextItem(id="not-tried", text=text)
    shelf = {key: one for key, one in case.formula.ingredients.items() if key not in recipe}
    unpriced = {key: one for key, one in shelf.items() if cheapest and one.price is None}
    kept_out = unpriced.keys() | {key for key, one in shelf.items() if not may_join(one, case.context)}
    joined, turned_away = sifted(shelf.keys() - kept_out, others, case)
    no_price = {
        key: TextItem(id="no-price", text=gap.text("no_price", name=one.name))
        for key, one in unpriced.items()
    }
    notes = {**no_price, **turned_away}
    return Candidates(
        live=tried,
        at_hand={**recipe, **{key: shelf[key] for key in sorted(joined)}},
        rejected=tuple(
            Rejected(replacement=key, rule=rule.id, reason=rule.text) for key, rule in rules.items() if rule
        ),
        notes=tuple(notes[key] for key in sorted(notes) if key not in candidates),
    )
