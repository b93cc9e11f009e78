"""Invents doughs in bowls for the tests, from fixed seeds."""

import random
from typing import Any

from advisor.rulebook.load import load_rulebook
from helpers import makers


def bowl(seed: int) -> dict[str, Any]:
    """Return a request for additions: any feel, mass, balance, shelf and wish."""
    rng = random.Random(seed + 77)
    recipe = makers.recipe(seed)
    mass = rng.choice([50, 200, 500, 1000, 3000])
    lines = [
        {"material": line["material"], "grams": round(line["percent"] * mass / 100, 4)}
        for line in recipe["lines"]
    ]
    asked: dict[str, Any] = {
        "recipe": {"name": recipe["name"], "lines": lines},
        "report": makers.report(seed),
        "wishes": makers.wishes(seed),
        "balance_step": rng.choice([0.01, 0.1, 1.0]),
    }
    if rng.random() < 0.5:
        asked["lost_grams"] = round(mass * rng.uniform(0, 0.05), 2)
    if rng.random() < 0.4:
        own = [line["material"] for line in lines]
        asked["shelf"] = sorted({*rng.sample(sorted(load_rulebook().ingredients), 4), *rng.sample(own, 3)})
    if rng.random() < 0.2:
        asked["wishes"]["active"] = {"min": rng.choice([40, 45, 50])}
    return asked
