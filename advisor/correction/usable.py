"""Which materials a correction may use: the recipe's own, and what of the shelf may join them."""

from collections.abc import Mapping

from advisor.case.case import Case
from advisor.case.shelf import admitted, refuse_unpriced
from advisor.demands.use import may_join
from advisor.recipe.measures import Amounts
from advisor.rulebook.ingredient import Ingredient
from advisor.schema.findings import TextItem


def usable_materials(case: Case) -> tuple[dict[str, Ingredient], tuple[TextItem, ...]]:
    """Return the recipe's materials and what may join them, with a note on each that is turned away.

    What makes a bar cheaper keeps every promise that all of its own materials keep.
    """
    ingredients, own = case.formula.ingredients, case.formula.amounts
    there = {key: one for key, one in ingredients.items() if own[key]}
    cheapest, every = case.wishes.aim == "lowest_cost", case.rulebook.claims.claim.values()
    kept = [
        claim for claim in every if cheapest and all(claim.kept_by(one.material) for one in there.values())
    ]
    joined, notes = admitted(ingredients.keys() - there.keys(), there, case)
    usable = {
        key: one
        for key, one in ingredients.items()
        if key in there
        or (
            key in joined
            and may_join(one, case.context)
            and all(claim.kept_by(one.material) for claim in kept)
        )
    }
    return _priced(usable, own, notes) if cheapest else (usable, notes)


def _priced(
    usable: Mapping[str, Ingredient], amounts: Amounts, notes: tuple[TextItem, ...]
) -> tuple[dict[str, Ingredient], tuple[TextItem, ...]]:
    """Return the materials whose price is known.

    Raises
    ------
    InvalidRequest
        A material of the recipe has no price.
    """
    refuse_unpriced({key: one for key, one in usable.items() if amounts.get(key)})
    unpriced = [key for key, one in usable.items() if one.price is None]
    left_out = tuple(
        TextItem(id="no-price", text=f"{usable[key].name} is left out: its price is not known.")
        for key in unpriced
    )
    return {key: one for key, one in usable.items() if key not in unpriced}, (*notes, *left_out)
