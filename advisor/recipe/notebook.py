"""What a shop knows of itself: own materials, judged doughs, measured demands."""

import datetime
from collections.abc import Iterable, Mapping
from typing import NamedTuple

from advisor.frozen import cached_property, dataclass, field
from advisor.learning import Dough, Window, learn
from advisor.recipe.belief import Measured, believed, learning_rules, with_own_habits
from advisor.rulebook.dough import DoughRules
from advisor.rulebook.ingredient import Ingredient
from advisor.rulebook.load import Rulebook
from advisor.schema.lot import Lot
from advisor.schema.recipe import Recipe
from advisor.sums import grouped

_MOST_RECIPES = 20


class ShopFacts(NamedTuple):
    """What a shop says of itself wherever nobody says otherwise: who answers for its bars, its currency."""

    responsible: str | None = None
    contact: str | None = None
    currency: str | None = None


NO_FACTS = ShopFacts()


@dataclass(frozen=True)
class Notebook:
    """What a shop knows besides the library.

    Parameters
    ----------
    rules : DoughRules
    library : mapping
        The materials everybody knows, by key.
    materials : mapping
        The shop's own materials by key; they come before the library's.
    doughs : tuple of Dough
        What its judged doughs say of wetness, oldest first.
    measured : mapping
        Demands found by bench tests, by key of the powder: evidence, which doughs may still contradict.
    names : tuple of str
        What each of ``doughs`` is called; one dough may be judged twice.
    recipes : tuple of Recipe
        The recipes it works with, the newest first, each once.
    unread : tuple of str
        Doughs that name materials nobody knows; they teach nothing.
    lots : mapping
        What is kept of its lots, by key of the material and name of the lot.
    today : date, optional
        The day it is asked on, which the dates of lots are held against.
    facts : ShopFacts
        What it says of itself.

    Examples
    --------
    >>> from advisor.rulebook.load import load_rulebook
    >>> book = load_rulebook()
    >>> shop = Notebook(book.dough, book.ingredients, doughs=(Dough(0.0, {"kaolin": 1.0}, 6),))
    >>> round(shop.window.centre({"kaolin": 1.0})[0], 2)
    -0.11
    """

    rules: DoughRules
    library: Mapping[str, Ingredient]
    materials: Mapping[str, Ingredient] = field(default_factory=dict)
    doughs: tuple[Dough, ...] = ()
    measured: Mapping[str, Measured] = field(default_factory=dict)
    names: tuple[str, ...] = ()
    recipes: tuple[Recipe, ...] = ()
    unread: tuple[str, ...] = ()
    lots: Mapping[tuple[str, str], Lot] = field(default_factory=dict)
    today: datetime.date | None = None
    facts: ShopFacts = NO_FACTS

    def get(self, key: str) -> Ingredient | None:
        """Return a material, the shop's own before the library's."""
        return self.materials.get(key) or self.library.get(key)

    @cached_property
    def stock(self) -> dict[str, float]:
        """What all lots of a material hold together [g], of those of which every lot says it."""
        held = grouped((material, lot.stock_grams) for (material, _), lot in self.lots.items())
        return {key: sum(filter(None, grams)) for key, grams in held.items() if None not in grams}

    @cached_property
    def window(self) -> Window:
        """What the doughs teach, learned once."""
        keys = {key for dough in self.doughs for key in dough.shares}
        belief = believed({*keys, *self.measured}, self.get, self.measured, self.rules)
        believed_now = with_own_habits(self.doughs, belief, self.rules)
        return learn(self.doughs, believed_now, learning_rules(self.rules))


def unwritten_notebook(rulebook: Rulebook, facts: ShopFacts) -> Notebook | None:
    """Return what a shop that wrote nothing down says of itself; None where it says nothing."""
    return Notebook(rulebook.dough, rulebook.ingredients, facts=facts) if any(facts) else None


def newest_recipes(recipes: Iterable[Recipe]) -> tuple[Recipe, ...]:
    """Return the newest of some recipes that come newest first, each once whatever it is called."""
    found: dict[object, Recipe] = {}
    for recipe in recipes:
        found.setdefault(recipe.lines, recipe)
        if len(found) == _MOST_RECIPES:
            break
    return tuple(found.values())
