"""What a shop knows of itself: own materials, judged doughs, measured demands."""

import datetime
import math
from collections.abc import Callable, Iterable, Mapping
from typing import NamedTuple

from advisor.frozen import cached_property, dataclass, field
from advisor.learning import Dough, Prior, Window, learn
from advisor.recipe.consistency import learning_rules, pooled_sd, prior, with_own_habits
from advisor.rulebook.dough import DoughRules
from advisor.rulebook.ingredient import Ingredient
from advisor.rulebook.load import Rulebook
from advisor.schema.lot import Lot
from advisor.schema.recipe import Recipe

_MOST_RECIPES = 20

Get = Callable[[str], Ingredient | None]


@dataclass(frozen=True, slots=True)
class Measured:
    """A powder's demand for liquid as a bench test found it [g/g], with its relative standard deviation."""

    demand: float
    sd: float


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


def believed(keys: Iterable[str], get: Get, measured: Mapping[str, Measured], rules: DoughRules) -> Prior:
    """Return what is believed of powders, lots and methods before any dough.

    Parameters
    ----------
    keys : iterable of str
        Keys of the window; see ``advisor.recipe.consistency.window_shares``.
    get : callable
        Returns a material by its key, or None.
    measured : mapping
        Demands found by bench tests. Each is weighed against the library's figure by their variances.
    rules : DoughRules
    """
    sds: dict[str, float] = {}
    means: dict[str, float] = {}
    for key in keys:
        pooled, among = pooled_sd(key, rules), rules.among.get(key)
        one = get(key)
        sds[key] = rules.prior.demand_relative_sd if one is None else one.uptake_sd
        if among is not None:
            means[key], sds[key] = among.mean, among.sd
        elif pooled is not None:
            sds[key] = pooled
        if key in measured and one is not None and one.uptake > 0:
            found = means.get(key, 0.0)
            more, sds[key] = weighed_in(measured[key], one.uptake * math.exp(found), sds[key])
            means[key] = found + more
    return prior(sds, means, rules)


def weighed_in(measured: Measured, library: float, library_sd: float) -> tuple[float, float]:
    """Return mean and standard deviation of ln(demand / library's demand) after a bench test.

    Examples
    --------
    >>> mean, sd = weighed_in(Measured(0.44, 0.15), 0.40, 0.30)
    >>> round(mean, 4), round(sd, 4)
    (0.0762, 0.1342)
    """
    ratio = math.log(measured.demand / library)
    if library_sd <= 0:
        return 0.0, 0.0
    share = library_sd**2 / (library_sd**2 + measured.sd**2)
    return share * ratio, math.sqrt(share) * measured.sd
