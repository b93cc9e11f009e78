"""Which materials a correction may use: the recipe's own, and what of the shelf may join them."""

from collections.abc import Iterable, Mapping

from advisor.case.case import Case
from advisor.case.shelf import admitted, refuse_unpriced
from advisor.demands.use import may_join
from advisor.recipe.measures import Amounts
from advisor.rulebook.ingredient import Ingredient
from advisor.schema.findings import TextItem

_GOOD = (("sulfate_free", True), ("vegan", True), ("ethoxylated", False), ("palm", False))


def usable_materials(case: Case) -> tuple[dict[str, Ingredient], tuple[TextItem, ...]]:
    """Return the recipe's materials and what may join them, with a note on each that is turned away."""
    ingredients, own = case.formula.ingredients, case.formula.amounts
    there = {key: one for key, one in ingredients.items() if own[key]}
    claims = _claims(there.values()) if case.wishes.aim == "lowest_cost" else set[tuple[str, bool]]()
    joined, notes = admitted(ingredients.keys() - there.keys(), there, case)
    usable = {
        key: one
        for key, one in ingredients.items()
        if key in there
        or (key in joined and may_join(one, case.context) and (not claims or claims <= _claims([one])))
    }
    return _priced(usable, own, notes) if case.wishes.aim == "lowest_cost" else (usable, notes)


def _claims(some: Iterable[Ingredient]) -> set[tuple[str, bool]]:
    """Return what all of some materials are or are not, so that a cheaper one keeps it."""
    flags = [one.material.flags for one in some]
    return {(flag, good) for flag, good in _GOOD if all(getattr(of, flag, None) is good for of in flags)}


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
