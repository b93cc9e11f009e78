"""Shelves and wishes for new bars from fixed seeds, and a judge of drafts that reckons from the rules files alone."""

import random
from collections.abc import Iterator
from typing import Any

from helpers import swap_judge

CLAIMS = ("sulfate_free", "palm_free", "vegan", "unscented", "not_ethoxylated")
PLACES = ("hand_and_body", "hand_and_body", "face", "hair")
# What most makers of kneaded bars have at hand, whatever else stands beside it.
STAPLES = ("isethionate-powder", "betaine-30", "glycerin", "sunflower-oil", "kaolin", "phenoxyethanol-blend")


def asked(seed: int) -> dict[str, Any]:
    """Return a request for drafts: any shelf, market, place, promise, strength and feature."""
    rng = random.Random(seed + 5_000_011)
    keys = sorted(swap_judge.library())
    shelf = {*rng.sample(keys, rng.randint(20, 60)), *(STAPLES if rng.random() < 0.7 else ())}
    wishes: dict[str, Any] = {
        "market": rng.choice(["eu", "uk", "us", "ca", "jp", "none"]),
        "used_on": rng.choice(PLACES),
    }
    if rng.random() < 0.4:
        wishes["claims"] = rng.sample(CLAIMS, rng.randint(1, 2))
    if rng.random() < 0.3:
        wishes["active"] = {"min": rng.choice([30, 38, 42]), "max": rng.choice([46, 50, 55])}
    if rng.random() < 0.2:
        wishes["aim"] = "lowest_cost"
    body: dict[str, Any] = {"shelf": sorted(shelf), "wishes": wishes}
    if rng.random() < 0.3:
        body["features"] = {
            rng.choice(["kaolin", "rose-clay", "rice-flour", "panthenol-75"]): rng.choice([1.0, 3.0, 6.0])
        }
    return body


def breaks(key: str, claim: str) -> bool:
    """Say whether a material is not known to keep a promise."""
    block, asks = swap_judge.library()[key], swap_judge.table("claims.toml")["claim"][claim]
    names = " ".join(block["composition"]).casefold()
    if "flag" in asks and block.get("flags", {}).get(asks["flag"]) is not asks["value"]:
        return True
    if set(asks.get("without_roles", ())) & set(block["roles"]):
        return True
    return any(word in names for word in asks.get("without_words", ()))


def wrong(body: dict[str, Any], option: dict[str, Any]) -> Iterator[str]:
    """Yield every row that an option breaks."""
    percents = {line["material"]: line["percent"] for line in option["recipe"]["lines"]}
    blocks = {key: swap_judge.library()[key] for key in percents}
    rules, wishes = swap_judge.table("drafts.toml"), body["wishes"]
    family = next(one for one in rules["family"] if one["name"] == option["family"])

    def total(figure: Any) -> float:
        return float(sum(figure(blocks[key]) * amount for key, amount in percents.items()))

    def outside(name: str, value: float, band: dict[str, float]) -> Iterator[str]:
        if not band.get("min", -1e9) - 1e-6 <= value <= band.get("max", 1e9) + 1e-6:
            yield f"{name} {value:.4f} not in {band}"

    yield from outside("total", total(lambda _: 1.0), {"min": 100, "max": 100})
    yield from (
        f"{key} from nowhere" for key in percents if key not in {*body["shelf"], *body.get("features", {})}
    )
    yield from outside("active", total(swap_judge.active), wishes.get("active") or family["active"])
    liquid = total(lambda block: swap_judge.liquid(block, cold=True))
    yield from outside("ratio", liquid / (100 - liquid), family["liquid_to_powder"])
    yield from outside(
        "oil",
        total(swap_judge.oil) / total(lambda b: 1 - swap_judge.liquid(b)),
        {"max": rules["all"]["oil_per_powder_at_most"]},
    )
    for key, amount in percents.items():
        use = blocks[key].get("use", {})
        own = body.get("features", {}).get(key)
        yield from outside(
            key,
            amount,
            {"min": min(use.get("min", 0), own or 1e9), "max": max(use.get("max", 100), own or 0)},
        )
    for key, told in body.get("features", {}).items():
        yield from outside(key, percents.get(key, 0.0), {"min": told, "max": told})
    for claim in wishes.get("claims", ()):
        yield from (f"{key} does not keep {claim}" for key in blocks if breaks(key, claim))
    if len(percents) > rules["all"]["lines_at_most"] or family["used_on"].count(wishes["used_on"]) == 0:
        yield f"{len(percents)} lines, a family for {family['used_on']}"
