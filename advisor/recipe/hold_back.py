"""Says what of a recipe is kept back at the first mixing and fed to feel."""

from collections.abc import Mapping

from advisor.recipe.measures import Amounts
from advisor.rulebook.dough import HoldBackRules
from advisor.rulebook.ingredient import Ingredient


def held_back_liquids(
    ingredients: Mapping[str, Ingredient], amounts: Amounts, rules: HoldBackRules
) -> dict[str, float]:
    """Return how much of each liquid is kept back, in the unit of the amounts.

    Oil is not, nor what has to be in the dough in full: preservative, perfume, acid, alkali, and what the
    bar is named after.

    Examples
    --------
    >>> from advisor.rulebook.load import load_rulebook
    >>> book = load_rulebook()
    >>> held_back_liquids(book.ingredients, {"betaine-30": 30.0, "kaolin": 70.0}, book.dough.hold_back)
    {'betaine-30': 3.0}
    """
    return {
        key: amount * rules.liquids
        for key, amount in amounts.items()
        if amount and ingredients[key].liquid_cold and ingredients[key].main_role not in rules.liquids_never
    }


def held_back_powders(
    ingredients: Mapping[str, Ingredient], amounts: Amounts, rules: HoldBackRules
) -> dict[str, float]:
    """Return how much of each surfactant powder and filler is kept back, in the unit of the amounts.

    Salts and sugars are not: they dissolve, and what they do to pH and gas belongs into the liquids.
    """
    return {
        key: amount * rules.powders
        for key, amount in amounts.items()
        if amount
        and (one := ingredients[key]).powder() == 1.0
        and one.main_role in rules.powders_of
        and (one.is_surfactant or not one.soluble_powder)
    }
