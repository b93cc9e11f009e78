"""What makes a bar cheaper breaks no promise that all of its own materials keep, whatever stands on the shelf."""

from collections.abc import Iterator
from functools import cache
from typing import Any

import pytest

from advisor.case.case import Case
from advisor.correction.schema import CorrectionRequest
from advisor.correction.usable import usable_materials
from advisor.errors import InvalidRequest
from advisor.recipe.request import opened, read_formula
from helpers import ordinary, shelves, swap_judge

LIBRARY = swap_judge.library()
RECIPES = [one.lines for one in ordinary.RECIPES] + [{key: 100.0} for key in sorted(LIBRARY)[::4]]


def starches() -> Iterator[tuple[str, dict[str, Any]]]:
    """Yield the promise with a starch of the shop that breaks it, in every way that rules/claims.toml knows."""
    fields = ("name", "form", "fineness", "roles", "composition", "uptake", "use", "flags", "price_per_kg")
    plain = {field: LIBRARY["corn-starch"][field] for field in fields}
    for claim, asks in swap_judge.table("claims.toml")["claim"].items():
        if "flag" in asks:
            yield claim, {**plain, "flags": plain["flags"] | {asks["flag"]: not asks["value"]}}
            others = {flag: value for flag, value in plain["flags"].items() if flag != asks["flag"]}
            yield claim, {**plain, "flags": others}
        for role in asks.get("without_roles", ()):
            yield claim, {**plain, "roles": [*plain["roles"], role]}
        for word in asks.get("without_words", ()):
            yield claim, {**plain, "composition": {"Zea Mays Starch": 90.0, f"Cornyl {word}": 10.0}}


BREAKING = [(claim, {**block, "key": f"starch-{n}"}) for n, (claim, block) in enumerate(starches())]


@cache
def usable(number: int, aim: str) -> frozenset[str]:
    lines = [{"material": key, "percent": percent} for key, percent in RECIPES[number].items()]
    wanted, known = opened(
        CorrectionRequest,
        {
            "recipe": {"lines": lines},
            "wishes": {"aim": aim},
            "report": {"feel": "workable"},
            "materials": [block for _, block in BREAKING],
        },
        None,
        None,
    )
    shelf = sorted({*LIBRARY, *(block["key"] for _, block in BREAKING)})
    formula = read_formula(wanted.recipe, known, shelf, wishes=wanted.wishes)
    try:
        return frozenset(usable_materials(Case.at(formula, known, wishes=wanted.wishes))[0])
    except InvalidRequest:
        return frozenset()


@pytest.mark.parametrize("claim", shelves.CLAIMS)
def test_every_promise_of_the_label_is_kept(claim: str) -> None:
    starch = {block["key"] for its, block in BREAKING if its == claim}
    breaking = starch | {key for key in LIBRARY if shelves.breaks(key, claim)}
    kept, turned_away = 0, set[str]()
    for number, lines in enumerate(RECIPES):
        cheaper = usable(number, "lowest_cost")
        if cheaper and breaking.isdisjoint(lines):
            kept += 1
            assert cheaper.isdisjoint(breaking), lines
            turned_away |= breaking & usable(number, "closest")
    assert kept > 20
    assert turned_away >= starch
