"""Says in which phase a material is added, and how warm a melt must be."""

import math
from collections.abc import Mapping

from advisor.rulebook.ingredient import Ingredient
from advisor.rulebook.weighing import Kind, PhaseRules

_LETTERS = "ABCD"


def kind_of(one: Ingredient, rules: PhaseRules) -> Kind:
    """Return whether a material comes as a liquid, is melted, or is a powder at the bench.

    Examples
    --------
    >>> from advisor.rulebook.load import load_rulebook
    >>> book = load_rulebook()
    >>> [kind_of(book.ingredients[key], book.weighing.phases) for key in ("water", "stearic-acid", "kaolin")]
    ['liquid', 'melt', 'powder']
    """
    melts = one.material.melts_c
    melted = (
        melts is not None
        and melts > rules.melts_above_c
        and one.material.form in rules.melt_forms
        and one.main_role in rules.melt_roles
    )
    if melted:
        return "melt"
    return "liquid" if one.liquid_cold else "powder"


def dissolves(one: Ingredient, rules: PhaseRules) -> bool:
    """Tell whether a powder is one of the small ones that are dissolved in the liquids."""
    return kind_of(one, rules) == "powder" and one.main_role in rules.dissolved_roles


def phases(
    ingredients: Mapping[str, Ingredient], given: Mapping[str, str], rules: PhaseRules
) -> dict[str, str]:
    """Return the letter of each material: as given, else liquids, melt, powders, heat-sensitive in order.

    Without a melt nothing is heated, so there is no heat-sensitive phase; with one the oils join the melt.

    Examples
    --------
    >>> from advisor.rulebook.load import load_rulebook
    >>> book = load_rulebook()
    >>> of = {key: book.ingredients[key] for key in ("betaine-30", "kaolin", "phenoxyethanol-blend")}
    >>> phases(of, {}, book.weighing.phases)
    {'betaine-30': 'A', 'kaolin': 'B', 'phenoxyethanol-blend': 'A'}
    """
    kinds = {key: kind_of(one, rules) for key, one in ingredients.items()}
    heated = "melt" in kinds.values()
    places = {key: _place(one, kinds[key], heated, rules) for key, one in ingredients.items()}
    letters = dict(zip(sorted(set(places.values())), _LETTERS, strict=False))
    return {key: given.get(key, letters[place]) for key, place in places.items()}


def _place(one: Ingredient, kind: Kind, heated: bool, rules: PhaseRules) -> int:
    if kind == "melt":
        return 1
    if kind == "powder":
        return 0 if dissolves(one, rules) else 2
    if heated and one.oil:
        return 1
    return 3 if heated and one.main_role in rules.late_roles else 0


def melt_temperature(melting: Mapping[str, Ingredient], rules: PhaseRules) -> float:
    """Return the temperature of a melt: above the highest melting point, rounded up [degrees Celsius].

    Examples
    --------
    >>> from advisor.rulebook.load import load_rulebook
    >>> book = load_rulebook()
    >>> melt_temperature({"cetyl-alcohol": book.ingredients["cetyl-alcohol"]}, book.weighing.phases)
    55.0
    """
    highest = max(one.material.melts_c or 0.0 for one in melting.values())
    return math.ceil((highest + rules.melt_margin_c) / rules.melt_round_c) * rules.melt_round_c
