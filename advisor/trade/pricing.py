"""The one place that says what moving a line costs, and which new materials may come in at all."""

import hashlib
import math
from collections.abc import Mapping
from functools import lru_cache

from advisor.figures import NeverNew, PairRules, Prices, ProgramRules, Side
from advisor.shapes.findings import TextItem
from advisor.trade.ingredient import Ingredient
from advisor.trade.measures import Amounts
from advisor.trade.same import Same


@lru_cache(maxsize=4096)
def hash_share(key: str) -> float:
    """Return a share in [0, 1) that belongs to a key, to tell equals apart."""
    return int.from_bytes(hashlib.sha256(key.encode()).digest()[:8]) / 2**64


def role_weight(one: Ingredient, rules: ProgramRules) -> float:
    """Return the weight of the heaviest role of a material."""
    return max(rules.role_weights[role] for role in one.material.roles)


def move_prices(
    ingredients: Mapping[str, Ingredient], amounts: Amounts, rules: ProgramRules
) -> dict[str, float]:
    """Return the price of moving each line by one point.

    A large line moves more cheaply than a small one; a new material costs a little more. The share of a
    hash of the key makes every least-priced answer unique.
    """
    prices: Prices = rules.prices
    out = {}
    for key, one in ingredients.items():
        weight, own = role_weight(one, rules), amounts.get(key, 0.0)
        if own:
            weight *= math.sqrt(prices.reference_percent / max(own, prices.smallest_percent))
        else:
            weight += prices.new_material
        out[key] = weight * (1 + prices.tie_breaker * hash_share(key))
    return out


def stands_on(side: Side, one: Ingredient) -> bool:
    """Tell whether a material stands on one side of a pair."""
    material = one.material
    if side.charges and (material.charge not in side.charges or not (one.active or one.cationic)):
        return False
    if side.roles and not set(side.roles) & set(material.roles):
        return False
    if side.forms and material.form not in side.forms:
        return False
    if side.components:
        return 100 * one.holds(*side.components) >= side.at_least_percent
    return True


@lru_cache(maxsize=8192)
def _sides(one: Ingredient, of: Same[tuple[PairRules, ...]]) -> tuple[int, int]:
    """Return on which refusing pairs' first and second side a material stands, a bit for each pair."""
    first = second = 0
    for place, pair in enumerate(of.thing):
        if pair.refuse:
            first |= stands_on(pair.first, one) << place
            second |= stands_on(pair.second, one) << place
    return first, second


def clash(one: Ingredient, other: Ingredient, pairs: tuple[PairRules, ...]) -> TextItem | None:
    """Return the rule that two materials break together, with its sentence about them."""
    (first, second), (other_first, other_second) = _sides(one, Same(pairs)), _sides(other, Same(pairs))
    broken = first & other_second | second & other_first
    if not broken:
        return None
    place = (broken & -broken).bit_length() - 1
    names = (one.name, other.name) if first & other_second & (1 << place) else (other.name, one.name)
    text = pairs[place].text.replace("{first}", names[0]).replace("{second}", names[1])
    return TextItem(id=pairs[place].id, text=text)


class Company:
    """Materials that go together; told of each newcomer that does not.

    Parameters
    ----------
    pairs : tuple of PairRules
    never : NeverNew
    """

    def __init__(self, pairs: tuple[PairRules, ...], never: NeverNew) -> None:
        self._pairs = Same(pairs)
        self._never = never
        self._members: list[Ingredient] = []
        self._first = self._second = 0

    def welcome(self, one: Ingredient) -> None:
        """Take a material in, whatever it is."""
        first, second = _sides(one, self._pairs)
        self._members.append(one)
        self._first |= first
        self._second |= second

    def refuses(self, one: Ingredient) -> TextItem | None:
        """Return why a material may not be brought in; None where it may."""
        for name in self._never.components:
            if 100 * one.holds(name) >= 50:
                return TextItem(id="never-new", text=f"{one.name} is never proposed: {self._never.source}.")
        first, second = _sides(one, self._pairs)
        if not first & self._second | second & self._first:
            return None
        broken = (clash(one, member, self._pairs.thing) for member in self._members)
        return next(filter(None, broken), None)


def refused(
    one: Ingredient, among: Mapping[str, Ingredient], pairs: tuple[PairRules, ...], never: NeverNew
) -> TextItem | None:
    """Return why a material may not be brought into a recipe; None where it may."""
    company = Company(pairs, never)
    for other in among.values():
        company.welcome(other)
    return company.refuses(one)
