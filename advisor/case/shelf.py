"""Says which materials of a shelf may be reached for, and refuses the lowest cost without every price."""

from collections.abc import Iterable, Mapping

from advisor.case.case import Case
from advisor.errors import Fault, InvalidRequest
from advisor.rulebook.ingredient import Ingredient
from advisor.rulebook.newcomers import Compatibility
from advisor.schema.findings import TextItem


def admitted(
    shelf: Iterable[str], there: Mapping[str, Ingredient], case: Case
) -> tuple[frozenset[str], tuple[TextItem, ...]]:
    """Return the materials of a shelf that may join what is there, and why each other one may not.

    Parameters
    ----------
    shelf : iterable of str
    there : mapping
        What is in the dough already; it clashes with nothing more than it does.
    case : Case
        Knows every material of the request, and what must not meet.
    """
    joined, turned_away = sifted(shelf, there, case)
    return joined, tuple(turned_away.values())


def sifted(
    shelf: Iterable[str], there: Mapping[str, Ingredient], case: Case
) -> tuple[frozenset[str], dict[str, TextItem]]:
    """Return what ``admitted`` does, the reason of each that is turned away by its key."""
    asked, known = sorted(set(shelf)), case.formula.ingredients
    compatibility, joined, turned_away = company(there if asked else {}, case), set(), {}
    for key in asked:
        one = known[key]
        reason = None if key in there else case.ban(one) or compatibility.refusal(one)
        if reason is None:
            joined.add(key)
            compatibility.include(one)
        else:
            turned_away[key] = reason
    return frozenset(joined), turned_away


def company(there: Mapping[str, Ingredient], case: Case) -> Compatibility:
    """Return what is in a dough already, as newcomers are held against it."""
    found = Compatibility(case.pairs, case.rulebook.program.never_new)
    for key, one in there.items():
        found.include(one, case.formula.amounts.get(key))
    return found


def refuse_unpriced(recipe: Mapping[str, Ingredient]) -> None:
    """Refuse the lowest cost where a material of the recipe has no price.

    Raises
    ------
    InvalidRequest
    """
    unpriced = [key for key, one in recipe.items() if one.price is None]
    if unpriced:
        raise InvalidRequest(
            "The lowest cost needs the price of every material in the recipe.",
            [Fault("/wishes/aim", f"{key} has no price", "give its price_per_kg") for key in unpriced],
        )
