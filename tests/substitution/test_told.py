"""What is told of a stand-in is true of it: its pH where it counts, and warnings as a reason to take another."""

from typing import Any

import pytest

import advisor
from advisor.case.cautions import warned_of
from advisor.rulebook.load import load_rulebook
from helpers import ordinary

BOOK = load_rulebook()
BY_NAME = {one.name: one for one in ordinary.RECIPES}
WATER_LACKS = "With water on the shelf it would be made good by water"
WARNED = {key for key, one in BOOK.ingredients.items() if warned_of(BOOK.cautions.caution, one)}


def swapped(name: str, missing: str, **more: Any) -> Any:
    return advisor.substitute(
        {"recipe": BY_NAME[name].recipe(), "missing": missing, "wishes": {"market": "eu"}, **more}
    )


def ph(option: Any) -> str:
    return " ".join(shift.text for shift in option.shifts if shift.what == "ph")


@pytest.mark.parametrize(
    ("name", "missing"),
    [
        ("Mill Pond bar", "citric-acid-50"),
        ("Slate Yard bar", "lactic-acid-80"),
        ("Gate House bar", "lactic-acid-80"),
    ],
)
def test_an_acid_reckoned_alike_is_not_said_to_raise_the_ph(name: str, missing: str) -> None:
    for option in swapped(name, missing).options:
        assert "expect a" not in ph(option)
        assert "alkali" not in ph(option)


@pytest.mark.parametrize(
    ("name", "missing"),
    [
        ("Quarry bar", "charcoal"),
        ("Orchard face bar", "floral-water"),
        ("Mill Pond bar", "betaine-30"),
        ("Cooper's Hill bar", "coco-sulfate-powder"),
    ],
)
def test_the_ph_of_what_hardly_counts_is_not_told(name: str, missing: str) -> None:
    for option in swapped(name, missing).options:
        [key] = [option.replacement] if isinstance(option.replacement, str) else option.replacement[:1]
        now = {line.material: line.percent for line in option.recipe.lines}[key]
        if "expect a" in ph(option):
            of = BOOK.ingredients[key].material.ph
            assert of is not None and of.min is not None and of.max is not None
            middle = (of.min + of.max) / 2
            assert now >= 5 or not 4 < middle < 9
    if missing == "betaine-30":
        assert any("expect a higher pH" in ph(option) for option in swapped(name, missing).options)


def test_there_is_something_to_warn_of() -> None:
    assert {
        "eucalyptus-oil",
        "tea-tree-oil",
        "sweet-almond-oil",
        "milk-powder",
        "oat-flour",
        "menthol",
    } <= WARNED
    assert not {"lavender-oil", "jojoba-oil", "kaolin", "corn-starch"} & WARNED


@pytest.mark.parametrize(
    ("name", "missing"),
    [
        ("Quarry bar", "fragrance-oil"),
        ("Slate Yard bar", "lavender-oil"),
        ("Mill Pond bar", "jojoba-oil"),
        ("Mill Pond bar", "rice-flour"),
        ("Kiln bar", "jojoba-oil"),
    ],
)
def test_what_needs_no_warning_is_offered_before_what_does(name: str, missing: str) -> None:
    first = [option.replacement for option in swapped(name, missing).options]
    assert first[0] not in WARNED
    for option in swapped(name, missing).options:
        assert (option.ranking.caution > 0) == (option.replacement in WARNED)
        assert ("what its users have to be told" in option.ranking.text) == (option.replacement in WARNED)


def humectants(option: Any) -> float:
    return sum(
        line.percent
        for line in option.recipe.lines
        if BOOK.ingredients[line.material].main_role == "humectant"
    )


@pytest.mark.parametrize("stand_in", ["hydroxysultaine-42", "coco-glucoside-52"])
def test_that_water_is_lacking_is_told_where_a_humectant_fills_its_place(stand_in: str) -> None:
    told = 0
    for recipe in (one.recipe() for one in ordinary.RECIPES):
        keys = {line["material"] for line in recipe["lines"]}
        if "betaine-30" not in keys or keys & {stand_in, "water"}:
            continue
        body = {"recipe": recipe, "missing": "betaine-30", "replacements": [stand_in]}
        dry, wet = (advisor.substitute({**body, "shelf": shelf}).options[:1] for shelf in ([], ["water"]))
        said = [WATER_LACKS in shift.text for option in (*dry, *wet) for shift in option.shifts]
        told += sum(said)
        if any(said):
            assert humectants(dry[0]) > humectants(wet[0])
            assert not any(WATER_LACKS in shift.text for shift in wet[0].shifts)
    assert told >= 3
