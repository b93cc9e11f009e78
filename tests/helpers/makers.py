"""Invents plausible recipes and reports for the tests, from fixed seeds."""

import random
from typing import Any

from advisor.rulebook.load import load_rulebook

FAMILIES = {
    "primary": (
        [
            "isethionate-powder",
            "coco-sulfate-powder",
            "sulfoacetate-powder",
            "glutamate-powder",
            "taurate-powder",
        ],
        (30, 60),
    ),
    "filler": (
        ["kaolin", "rice-flour", "corn-starch", "tapioca-starch", "arrowroot-starch", "rose-clay"],
        (5, 20),
    ),
    "liquid": (["betaine-30", "coco-glucoside-52", "hydroxysultaine-42", "cocoamphoacetate-30"], (6, 22)),
    "emollient": (["sunflower-oil", "jojoba-oil", "castor-oil"], (1, 5)),
    "humectant": (["glycerin", "propanediol", "sorbitol-70"], (1, 5)),
    "structurant": (["cetyl-alcohol", "cetearyl-alcohol", "cocoa-butter"], (2, 6)),
    "preservative": (["phenoxyethanol-blend"], (0.8, 1.0)),
}
FEELS = ["too_wet", "too_dry", "crumbling", "cracks_while_drying", "stays_soft", "workable"]
DEGREES = ["slight", "clear", "severe"]


def at_hand(keys: list[str]) -> list[str]:
    """Return the keys the library has."""
    known = load_rulebook().ingredients
    return [key for key in keys if key in known]


def recipe(seed: int) -> dict[str, Any]:
    """Return a recipe of 6 to 12 lines in hundredths that adds up to exactly 100."""
    rng = random.Random(seed)
    parts: dict[str, float] = {}
    for family, (keys, (low, high)) in FAMILIES.items():
        take = (
            1
            if family == "preservative"
            else rng.randint(0 if family in ("structurant", "emollient") else 1, 2)
        )
        for key in rng.sample(at_hand(keys), min(take, len(at_hand(keys)))):
            parts[key] = rng.uniform(low, high)
    kept = sum(v for k, v in parts.items() if k == "phenoxyethanol-blend")
    scale = (100 - kept) / (sum(parts.values()) - kept)
    units = {k: round(v * 100 if k == "phenoxyethanol-blend" else v * scale * 100) for k, v in parts.items()}
    largest = max(units, key=lambda k: units[k])
    units[largest] += 10_000 - sum(units.values())
    lines = [{"material": key, "percent": count / 100} for key, count in units.items() if count > 0]
    rng.shuffle(lines)
    return {"name": f"bar {seed}", "lines": lines}


def report(seed: int) -> dict[str, Any]:
    """Return a report; every third carries signs."""
    rng = random.Random(seed + 1_000_003)
    made: dict[str, Any] = {"feel": FEELS[seed % len(FEELS)], "degree": rng.choice(DEGREES)}
    if made["feel"] == "crumbling" and rng.random() < 0.5:
        made["signs"] = rng.choice([["greasy"], ["dusty"], ["shiny", "breaks_at_poke"], ["gritty"]])
    return made


def wishes(seed: int) -> dict[str, Any]:
    """Return wishes that are often none."""
    rng = random.Random(seed + 2_000_003)
    made: dict[str, Any] = {"market": rng.choice(["eu", "uk", "none", "jp"])}
    return made
