"""The ingredient list of a recipe in its order, and how it differs from an earlier one."""

from bisect import bisect_right
from collections.abc import Mapping, Sequence
from functools import lru_cache

from advisor.frozen import cached_property, dataclass
from advisor.labelling.declared import allergen_shares, declaration, is_listed_allergen, is_natural
from advisor.labelling.schema import ListedIngredient, OrderChange
from advisor.rulebook.identity import ByIdentity
from advisor.rulebook.label import LabelMarket, LabelRules
from advisor.schema.base import Market
from advisor.schema.material import Material

Lines = Sequence[tuple[float, Material]]
_SAME = 1e-9
_REMEMBERED = 1024


@dataclass(frozen=True)
class IngredientList:
    """The ingredients in order, by the keys of their names.

    ``free`` are those that may stand in any order, ``allergens`` the fragrance allergens above their
    threshold, by the names of the list.
    """

    keys: tuple[str, ...]
    shown: Mapping[str, str]
    amounts: Mapping[str, float]
    colourants: Mapping[str, bool]
    free: frozenset[str]
    allergens: tuple[str, ...]

    @cached_property
    def names(self) -> tuple[str, ...]:
        """The names in order."""
        return tuple(self.shown[key] for key in self.keys)

    @cached_property
    def free_order_from(self) -> int | None:
        """The place of the first ingredient that may stand in any order."""
        return next((place for place, key in enumerate(self.keys) if key in self.free), None)

    @cached_property
    def ingredients(self) -> tuple[ListedIngredient, ...]:
        """The ingredients with their percents."""
        return tuple(
            ListedIngredient(
                name=self.shown[key],
                percent=round(self.amounts[key], 4),
                free=key in self.free,
                colourant=self.colourants[key],
            )
            for key in self.keys
        )


def ingredient_list(lines: Lines, market: Market, rules: LabelRules) -> IngredientList:
    """Return the ingredient list of a recipe.

    Parameters
    ----------
    lines : sequence of (percent, Material)
        The recipe as made [% by mass], in any order.
    market : Market
        Whose names and whose rule on 1 % are used; "none" is read as "eu".
    rules : LabelRules
        Thresholds and names.

    Notes
    -----
    Descending by weight when added, so the water inside a liquid surfactant counts although the bar dries;
    what may stand in any order is still sorted by weight, and colourants come last. Oils and extracts that
    the list of fragrance allergens knows as a group stand under the group's name once it is to be named.
    """
    way = rules.market["eu" if market == "none" else market]
    amounts: dict[str, float] = {}
    shown: dict[str, str] = {}
    colourants: dict[str, bool] = {}
    allergens: dict[str, float] = {}
    by, called = ByIdentity(rules), {"aqua": way.water, "parfum": way.parfum}
    for percent, material in sorted(lines, key=lambda line: line[1].key):
        names, its_allergens = _brought(ByIdentity(material), market, by)
        for entry, share in its_allergens.items():
            allergens[entry] = allergens.get(entry, 0.0) + percent * share
        for key, name, share, colourant in names:
            amounts[key] = amounts.get(key, 0.0) + percent * share
            shown.setdefault(key, called.get(key, name))
            colourants[key] = colourants.get(key, True) and colourant
    threshold, known = rules.allergens.rinse_off_percent, rules.allergens.of(market)
    above = {
        entry: amount for entry, amount in allergens.items() if amount > threshold + _SAME and entry in known
    }
    if allergens_named(market, rules):
        for entry, amount in above.items():
            standing = [key for key, name in shown.items() if _stands_for(entry, name, rules)]
            whole = [key for key in standing if is_natural(shown[key])]
            if whole:
                amount = sum(amounts.pop(key) for key in whole)
                for key in whole:
                    del shown[key]
            if whole or not standing:
                key = rules.key(entry)
                amounts[key], shown[key], colourants[key] = amount, entry, False
    return _ordered(amounts, shown, colourants, tuple(sorted(above)), way, rules)


def allergens_named(market: Market, rules: LabelRules) -> bool:
    """Tell whether fragrance allergens are to be named on a market's list, as far as is known here."""
    return market == "none" or market in rules.allergens.markets


@lru_cache(maxsize=_REMEMBERED)
def _brought(
    material: ByIdentity[Material], market: Market, rules: ByIdentity[LabelRules]
) -> tuple[list[tuple[str, str, float, bool]], dict[str, float]]:
    """Return what a material brings to the list of a market: names with their keys, and allergens."""
    brings, by = material.thing, rules.thing
    names = _ordinary(brings, market, by, scented="fragrance" in brings.roles)
    keyed = [(by.key(name), name, share, colourant) for name, share, colourant in names]
    return keyed, allergen_shares(brings, by)


def label_change(previous: Sequence[str], current: IngredientList, rules: LabelRules) -> OrderChange:
    """Return what moved, was added and was dropped since an earlier list.

    A name has moved where it leaves its place among those that kept theirs; names that may stand in any
    order do not move among themselves.
    """
    places = {key: place for place, key in enumerate(current.keys)}
    free_from, last = current.free_order_from, len(places)

    def rank(key: str) -> int:
        if current.colourants[key]:
            return last + 1
        return last if free_from is not None and places[key] >= free_from else places[key]

    earlier = [rules.key(name) for name in previous]
    common = [key for key in earlier if key in places]
    kept = _longest_rising([rank(key) for key in common])
    moved = {key for position, key in enumerate(common) if position not in kept}
    return OrderChange(
        moved=tuple(current.names[place] for key, place in places.items() if key in moved),
        added=tuple(current.names[place] for key, place in places.items() if key not in earlier),
        dropped=tuple(name for name, key in zip(previous, earlier, strict=True) if key not in places),
    )


def _ordinary(
    material: Material, market: Market, rules: LabelRules, *, scented: bool
) -> list[tuple[str, float, bool]]:
    """Return the names of a material with shares; of a scent its allergens stand under its main name.

    One whose supplier declares nothing but allergens, such as menthol, stands under the names declared.
    """
    declared = declaration(material, market, rules)
    names = declared.names
    if not scented:
        return [(name.name, name.share or 0.0, name.colourant) for name in names]
    main = [name for name in names if not is_listed_allergen(name.name, rules) or is_natural(name.name)]
    if not main and declared.from_composition:
        return [(rules.names.parfum[0], 1.0, False)]
    main = main or list(names)
    inside = sum(name.share or 0.0 for name in names) - sum(name.share or 0.0 for name in main)
    return [
        (name.name, (name.share or 0.0) + (inside if position == 0 else 0.0), name.colourant)
        for position, name in enumerate(main)
    ]


def _stands_for(entry: str, name: str, rules: LabelRules) -> bool:
    key = rules.key(name)
    return key == rules.key(entry) or rules.listed.get(key) == entry


def _ordered(
    amounts: dict[str, float],
    shown: dict[str, str],
    colourants: dict[str, bool],
    allergens: tuple[str, ...],
    way: LabelMarket,
    rules: LabelRules,
) -> IngredientList:
    most = rules.free_order.percent + (_SAME if way.one_percent_is_free else -_SAME)
    free = frozenset(key for key, amount in amounts.items() if colourants[key] or amount <= most)
    keys = sorted(amounts, key=lambda key: (colourants[key], -round(amounts[key] / _SAME), key))
    return IngredientList(tuple(keys), shown, amounts, colourants, free, allergens)


def _longest_rising(ranks: Sequence[int]) -> set[int]:
    """Return the positions of a longest subsequence that never falls."""
    tails: list[int] = []
    ends: list[int] = []
    before: list[int | None] = []
    for position, value in enumerate(ranks):
        place = bisect_right(tails, value)
        before.append(ends[place - 1] if place else None)
        if place == len(tails):
            tails.append(value)
            ends.append(position)
        else:
            tails[place] = value
            ends[place] = position
    kept: set[int] = set()
    at = ends[-1] if ends else None
    while at is not None:
        kept.add(at)
        at = before[at]
    return kept
