"""A comparison is two assessments and their difference, figure by figure; what shifts is told once and both ways."""

import itertools
from typing import Any

import pytest

import advisor
from helpers import ordinary

PAIRS = list(itertools.pairwise(ordinary.RECIPES))
OPPOSITE = {"better": "worse", "worse": "better", "up": "down", "down": "up", "more": "less", "less": "more"}


def compared(first: dict[str, Any], second: dict[str, Any], **asked: Any) -> dict[str, Any]:
    told: dict[str, Any] = advisor.compare({"recipes": [first, second], **asked}).model_dump()
    return told


@pytest.mark.parametrize("market", ordinary.MARKETS)
@pytest.mark.parametrize(("one", "other"), PAIRS, ids=lambda one: one.name)
def test_each_side_is_an_assessment_figure_by_figure(one, other, market) -> None:
    wishes = {"market": market, "active": {"min": 40, "max": 55}}
    told = compared(one.recipe(), other.recipe(), wishes=wishes)
    for side, recipe in (("a", one), ("b", other)):
        alone = advisor.assess({"recipe": recipe.recipe(), "wishes": wishes}).model_dump()
        assert told[side]["totals"] == alone["totals"]
        assert told[side]["consistency"] == alone["consistency"]
        assert told[side]["checks"] == alone["checks"]
        assert told[side]["price"] == alone["totals"]["price_per_kg"]


@pytest.mark.parametrize(("one", "other"), PAIRS, ids=lambda one: one.name)
def test_lines_are_the_difference_of_the_recipes(one, other) -> None:
    lines = {line["material"]: line for line in compared(one.recipe(), other.recipe())["lines"]}
    assert set(lines) == {*one.lines, *other.lines}
    for key, line in lines.items():
        before, after = one.lines.get(key, 0.0), other.lines.get(key, 0.0)
        assert (line["a"], line["b"]) == (before, after)
        assert line["change"] == pytest.approx(after - before, abs=1e-4)


@pytest.mark.parametrize("one", ordinary.RECIPES, ids=lambda one: one.name)
def test_nothing_shifts_from_a_recipe_to_itself(one) -> None:
    told = compared(one.recipe(), one.recipe(), wishes={"market": "eu"})
    assert told["shifts"] == ()
    assert not any(told["label"][what] for what in ("moved", "added", "dropped"))
    assert all(line["change"] == 0 for line in told["lines"])


@pytest.mark.parametrize(("one", "other"), PAIRS, ids=lambda one: one.name)
def test_what_shifts_one_way_shifts_back_the_other(one, other) -> None:
    there = {(s["what"], s["direction"]) for s in compared(one.recipe(), other.recipe())["shifts"]}
    back = {(s["what"], s["direction"]) for s in compared(other.recipe(), one.recipe())["shifts"]}
    for what in ("strength", "wetness", "water", "hardness", "foam", "price"):
        turned = {(told, OPPOSITE[way]) for told, way in there if told == what}
        assert turned == {(told, way) for told, way in back if told == what}


def test_the_label_is_that_of_the_label_call() -> None:
    one, other = ordinary.RECIPES[6], ordinary.RECIPES[2]
    told = compared(one.recipe(), other.recipe(), wishes={"market": "eu"})["label"]
    earlier = advisor.label({"recipe": one.recipe(), "market": "eu"}).ingredients
    label = advisor.label({"recipe": other.recipe(), "market": "eu", "previous": list(earlier)})
    assert told["allergens"] == label.allergens
    assert told["added"] == label.order_changed_from.added
    assert told["dropped"] == label.order_changed_from.dropped
    assert told["moved"] == label.order_changed_from.moved


def test_a_limit_met_before_and_no_longer_is_told() -> None:
    lawful = ordinary.RECIPES[0]
    over = ordinary.Ordinary(
        "Over", lawful.family, {**lawful.lines, "phenoxyethanol-blend": 1.9, "kaolin": 5.0}
    )
    told = compared(lawful.recipe(), over.recipe(), wishes={"market": "eu"})["shifts"]
    limits = next(shift for shift in told if shift["what"] == "limits")
    assert limits["direction"] == "worse"
    assert "phenoxyethanol" in limits["text"] and "in the dried bar" in limits["text"]


def test_another_lot_of_a_material_is_a_shift_of_strength() -> None:
    recipe = ordinary.RECIPES[0]
    strong = {**advisor_material("isethionate-powder"), "key": "strong-isethionate", "active": 88}
    other = {
        ("strong-isethionate" if key == "isethionate-powder" else key): x for key, x in recipe.lines.items()
    }
    second = ordinary.Ordinary("Strong", recipe.family, other)
    told = compared(recipe.recipe(), second.recipe(), materials=[strong])
    assert told["shifts"][0]["what"] == "strength"
    assert told["b"]["totals"]["active"] - told["a"]["totals"]["active"] == pytest.approx(2.0, abs=0.011)


def advisor_material(key: str) -> dict[str, Any]:
    from advisor.rulebook.load import load_rulebook

    return load_rulebook().ingredients[key].material.model_dump(mode="json", exclude_none=True)


def test_a_wish_about_a_material_of_neither_is_refused() -> None:
    one, other = ordinary.RECIPES[:2]
    with pytest.raises(advisor.AdvisorError) as refused:
        compared(one.recipe(), other.recipe(), wishes={"lines": {"water": {"max": 3}}})
    assert refused.value.problem()["errors"][0]["where"] == "/wishes/lines/water"


def test_three_recipes_are_too_many_and_a_fault_names_its_recipe() -> None:
    one = ordinary.RECIPES[0].recipe()
    with pytest.raises(advisor.AdvisorError) as refused:
        advisor.compare({"recipes": [one, one, one]})
    assert refused.value.code == "invalid-request"
    with pytest.raises(advisor.AdvisorError) as unknown:
        compared(one, {"lines": [{"material": "moon-dust", "percent": 100}]})
    assert unknown.value.problem()["errors"][0]["where"] == "/recipes/1/lines/0/material"
