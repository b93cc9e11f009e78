"""Says what moving a line costs."""

import hashlib
import math
from collections.abc import Mapping
from functools import lru_cache

from advisor.recipe.measures import Amounts
from advisor.rulebook.ingredient import Ingredient
from advisor.rulebook.program import MoveRules, Prices, ProgramRules


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


def least_move(one: Ingredient, own: float, rules: MoveRules, step: float) -> float:
    """Return by how much a line moves at least [points].

    Parameters
    ----------
    one : Ingredient
    own : float
        What the recipe has of it [%].
    rules : MoveRules
    step : float
        One step of the balance [% of the batch]; 0 where the batch is not known.
    """
    if 0 < own <= rules.small_line and one.main_role in rules.small_roles:
        return max(rules.small_share * own, rules.small_points, rules.small_steps * step)
    return max(rules.smallest_points, rules.smallest_steps * step)
