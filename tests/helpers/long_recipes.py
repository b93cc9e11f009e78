"""Invents recipes of any length for the tests, from fixed seeds."""

import random
from typing import Any

from advisor.rulebook.load import load_rulebook

CORE = (
    "isethionate-powder",
    "kaolin",
    "rice-flour",
    "betaine-30",
    "sunflower-oil",
    "glycerin",
    "phenoxyethanol-blend",
)
OWN_FROM = 120
MASS = 1000.0


def long_recipe(lines: int, seed: int) -> tuple[dict[str, float], list[dict[str, Any]]]:
    """Return percents by material that add up to 100, and the materials that are no library's."""
    rng = random.Random(seed)
    others = sorted(load_rulebook().ingredients.keys() - set(CORE))
    keys = [*CORE, *rng.sample(others, min(lines, OWN_FROM) - len(CORE))]
    own = [
        {
            "key": f"own-{number:03d}",
            "name": f"Own {number}",
            "form": rng.choice(["powder", "liquid"]),
            "roles": [rng.choice(["filler", "co_surfactant", "humectant"])],
            "composition": {f"Thing {number}": 90, "Aqua": 10},
        }
        for number in range(lines - len(keys))
    ]
    weights = {key: rng.uniform(0.5, 10) for key in [*keys, *(one["key"] for one in own)]}
    whole = sum(weights.values())
    percents = {key: round(100 * weight / whole, 4) for key, weight in weights.items()}
    percents["kaolin"] = round(percents["kaolin"] + 100 - sum(percents.values()), 4)
    return percents, own


def over_weighed(lines: int, seed: int) -> dict[str, Any]:
    """Return a request for a recovery: one line a fifth too heavy."""
    percents, own = long_recipe(lines, seed)
    rng = random.Random(seed + 1)
    weighed = {key: max(0.1, round(percent * MASS / 100, 1)) for key, percent in percents.items()}
    slip = rng.choice(sorted(weighed))
    weighed[slip] = round(weighed[slip] * 1.2, 1)
    return {
        "recipe": {"lines": [{"material": key, "percent": percent} for key, percent in percents.items()]},
        "batch_grams": MASS,
        "weighed": weighed,
        "mixed": True,
        "balance_step": 0.1,
        "materials": own,
        "wishes": {"market": "eu"},
    }


def failed_bowl(lines: int, seed: int) -> dict[str, Any]:
    """Return a request for an addition."""
    percents, own = long_recipe(lines, seed)
    grams = [{"material": key, "grams": round(p * MASS / 100, 4)} for key, p in percents.items()]
    return {
        "recipe": {"lines": grams},
        "report": {"feel": random.Random(seed).choice(["too_wet", "too_dry", "crumbling"])},
        "balance_step": 0.1,
        "materials": own,
    }
