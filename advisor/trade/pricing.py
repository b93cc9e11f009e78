"""The one place that says what moving a line costs, and which new materials may come in at all."""

import hashlib
import math
from collections.abc import Mapping
from functools import lru_cache

from advisor.figures import NeverNew, PairRules, Prices, ProgramRules, Side
from advisor.shapes.findings import TextItem
from advisor.trade.ingredient import Ingredient
from advisor.trade.measures import Amounts


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


def clash(one: Ingredient, other: Ingredient, pairs: tuple[PairRules, ...]) -> TextItem | None:
    """Return the rule that two materials break together, with its sentence about them."""
    for pair in pairs:
        for first, second in ((one, other), (other, one)):
            if pair.refuse and stands_on(pair.first, first) and stands_on(pair.second, second):
                text = pair.text.replace("{first}", first.name).replace("{second}", second.name)
                return TextItem(id=pair.id, text=text)
    return None


def refused(
    one: Ingredient, among: Mapping[str, Ingredient], pairs: tuple[PairRules, ...], never: NeverNew
) -> TextItem | None:
    """Return why a material may not be brought into a recipe; None where it may."""
    for name in never.components:
        if 100 * one.holds(name) >= 50:
            return TextItem(id="never-new", text=f"{one.name} is never proposed: {never.source}.")
    for other in among.values():
        broken = clash(one, other, pairs)
        if broken is not None:
            return broken
    return None
