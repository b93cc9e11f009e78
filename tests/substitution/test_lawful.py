"""Generated substitutions in every market: what its law bans, or lists nowhere, is never offered.

The judge reads the lists as they stand in the files and knows nothing of the program. Into each shelf come materials
of the missing one's kind that hold a banned substance, a colour or a preservative of no list, and a lawful twin.
"""

import csv
import random
from collections import Counter
from functools import cache
from typing import Any

import pytest

from advisor import AdvisorError, substitute
from helpers import makers
from helpers.counts import counted
from helpers.swap_judge import ROOT, library

MARKETS = ("eu", "uk", "us", "ca", "jp")
EACH = counted(200)
POSITIVE = {"preservative": "preservatives", "colourant": "colourants"}


@cache
def rows(market: str, name: str) -> list[dict[str, str]]:
    """Return a list of a market; Great Britain keeps what the Union had by the end of 2020."""
    path = ROOT / "law" / market / f"{name}.csv"
    if market == "uk":
        return [row for row in rows("eu", name) if row["act"][:4] <= "2020"]
    return list(csv.DictReader(path.read_text(encoding="utf-8").splitlines())) if path.exists() else []


@cache
def banned(market: str) -> list[str]:
    """Return what no product may hold whatever the circumstances, by its first name."""
    limited = {
        name.casefold()
        for which in ("restricted", "preservatives", "colourants")
        for row in rows(market, which)
        for name in (*row["components"].split(" | "), *row["cas"].split(" | "))
    }
    traces = (ROOT / "law" / market / "market.toml").read_text(encoding="utf-8").casefold()
    return [
        name
        for row in rows(market, "prohibited")
        for name in (row["components"].split(" | ")[0],)
        if not row["when"] and len(name) <= 60 and name.casefold() not in limited
        if name.casefold() not in traces and not limited & set(row["cas"].casefold().split(" | ")) - {""}
    ]


def baits(draw: random.Random, missing: dict[str, Any], market: str) -> list[dict[str, Any]]:
    """Return materials of the missing one's kind: a lawful twin, one with something banned, one of no list."""
    role = missing["roles"][0]
    share = draw.choice((0.5, 20.0, 100.0))
    twin = {
        field: missing[field]
        for field in ("form", "charge", "active", "water", "uptake", "wetting")
        if field in missing
    }
    for field in ("active", "water", "uptake", "wetting"):
        if isinstance(twin.get(field), dict):
            twin[field] = twin[field]["typical"]
    composition = dict(missing["composition"])
    diluted = (
        {name: percent * (1 - share / 100) for name, percent in composition.items()} if share < 100 else {}
    )
    made = [
        {"key": "twin", "composition": composition},
        {"key": "banned", "composition": {**diluted, draw.choice(banned(market)): share}},
    ]
    if role in POSITIVE and rows(market, POSITIVE[role]):
        made.append({"key": "of-no-list", "composition": {f"Inventium {draw.randrange(1000)}": 100.0}})
    return [{**twin, "name": one["key"].capitalize(), "roles": missing["roles"], **one} for one in made]


@pytest.mark.slow
@pytest.mark.parametrize("market", MARKETS)
def test_what_the_law_bans_or_does_not_list_is_never_offered(market: str) -> None:
    of, told = library(), Counter[str]()
    for seed in range(EACH):
        draw = random.Random(f"{market} {seed}")
        recipe = makers.recipe(seed)
        missing = draw.choice([line["material"] for line in recipe["lines"] if line["material"] in of])
        materials = baits(draw, of[missing], market)
        keys = [one["key"] for one in materials]
        named = draw.random() < 0.5
        body = {
            "recipe": recipe,
            "missing": missing,
            "materials": materials,
            "shelf": [*draw.sample(sorted(of), 12), *keys],
            "wishes": {"market": market},
            **({"replacements": keys} if named else {}),
        }
        told["tries"] += 1
        try:
            answer = substitute(body)
        except AdvisorError as error:
            told[error.code] += 1
            continue
        offered = {line.material for option in answer.options for line in option.recipe.lines}
        assert not offered & {"banned", "of-no-list"}, (seed, missing, materials)
        told["twins offered"] += "twin" in offered
        told["refused"] += sum(one.replacement in ("banned", "of-no-list") for one in answer.rejected)
    assert told["tries"] == EACH
    assert told["twins offered"] > 0.2 * EACH, told
    assert told["refused"] > 0.2 * EACH, told
