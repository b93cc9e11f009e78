"""Cautions stand where the work can hurt, and nowhere else: a table of cases."""

from typing import Any

import pytest

import advisor

BAR = {"isethionate-powder": 60.0, "kaolin": 10.0, "betaine-30": 25.0, "glycerin": 5.0}
CLAY = {"kaolin": 70.0, "water": 20.0, "glycerin": 10.0}
LIQUID = {"betaine-30": 90.0, "glycerin": 10.0}
EVERYWHERE = {"preservation", "no-law-checked", "no-preservative"}
OF = EVERYWHERE | {"estimate"}


def recipe(parts: dict[str, float]) -> dict[str, Any]:
    return {"lines": [{"material": key, "percent": percent} for key, percent in parts.items()]}


def with_some(percent: float, key: str) -> dict[str, float]:
    return {**BAR, "kaolin": BAR["kaolin"] - percent, key: percent}


@pytest.mark.parametrize(
    ("parts", "told"),
    [
        (BAR, OF | {"dust", "eyes", "allergens"}),
        (CLAY, OF | {"fine-powder"}),
        (LIQUID, EVERYWHERE | {"eyes", "allergens"}),
        ({"sunflower-oil": 100.0}, EVERYWHERE - {"no-preservative"}),
        (with_some(1.0, "lye-20"), OF | {"dust", "eyes", "allergens", "caustic"}),
        (with_some(1.0, "citric-acid"), OF | {"dust", "eyes", "allergens", "harmful-dust"}),
        (
            with_some(1.0, "fragrance-oil"),
            OF | {"dust", "eyes", "allergens", "fragrance-sheet", "skin-allergy"},
        ),
    ],
)
def test_a_recipe_carries_the_cautions_of_its_materials(parts: dict[str, float], told: set[str]) -> None:
    answer = advisor.assess({"recipe": recipe(parts)})
    assert {caution.id for caution in answer.cautions} == told


def test_a_market_brings_the_law_in_force() -> None:
    answer = advisor.assess({"recipe": recipe(BAR), "wishes": {"market": "uk"}})
    told = {caution.id: caution.text for caution in answer.cautions}
    assert "no-law-checked" not in told
    assert "United Kingdom" in told["law-in-force"]


def test_milling_is_cautioned_where_it_is_advised() -> None:
    needles = {**BAR, "isethionate-powder": 0.001, "coco-sulfate-needles": 59.999}
    for report, milled in (
        ({"feel": "crumbling"}, True),
        ({"feel": "cracks_while_drying"}, False),
        ({"feel": "too_wet", "signs": ["gritty"]}, True),
        ({"feel": "too_wet"}, True),
    ):
        try:
            answer = advisor.correct({"recipe": recipe(needles), "report": report})
        except advisor.errors.NoRecipeFits:
            continue
        assert ("grinding" in {caution.id for caution in answer.cautions}) == milled, report


@pytest.mark.parametrize(
    ("report", "parts", "asked", "not_asked"),
    [
        (
            {"feel": "too_wet", "signs": ["sags", "dusty"]},
            BAR,
            {"wet-or-dry", "too-wet-with-dry-signs"},
            set(),
        ),
        ({"feel": "too_dry", "signs": ["sags"]}, BAR, {"too-dry-with-wet-signs"}, {"wet-or-dry"}),
        ({"feel": "too_wet", "signs": ["sags"]}, BAR, set(), {"wet-or-dry", "too-wet-with-dry-signs"}),
        ({"feel": "workable", "signs": ["greasy"]}, BAR, {"workable-with-a-fault"}, set()),
        ({"feel": "workable"}, BAR, set(), {"workable-with-a-fault"}),
    ],
)
def test_signs_that_contradict_the_report_are_asked_about(
    report: dict[str, Any], parts: dict[str, float], asked: set[str], not_asked: set[str]
) -> None:
    told = {item.id for item in advisor.correct({"recipe": recipe(parts), "report": report}).questions}
    assert asked <= told
    assert not not_asked & told


@pytest.mark.parametrize(
    ("parts", "told", "names"),
    [
        (BAR, "not-more-powder", ["Glycerin"]),
        (with_some(1.0, "fragrance-oil"), "perfume-makes-tack", ["Fragrance oil"]),
        ({"isethionate-powder": 60.0, "kaolin": 10.0, "betaine-30": 30.0}, "tack-without-a-cause", []),
    ],
)
def test_tack_is_laid_to_what_is_in_the_recipe(parts: dict[str, float], told: str, names: list[str]) -> None:
    report = {"feel": "too_wet", "degree": "slight", "signs": ["sticky_but_stiff"]}
    answer = advisor.correct({"recipe": recipe(parts), "report": report})
    advice = {item.id: item.text for item in answer.advice}
    assert told in advice
    assert all(name in advice[told] for name in names)
    assert "glucoside" not in " ".join(advice.values()).casefold()


@pytest.mark.parametrize(
    ("parts", "feel", "told"),
    [
        ({"isethionate-powder": 60.0, "kaolin": 40.0}, "too_dry", "no-dough"),
        (LIQUID, "too_wet", "no-dough"),
        ({"isethionate-powder": 70.0, "betaine-30": 30.0}, "cracks_while_drying", "no-humectant"),
    ],
)
def test_an_unchanged_recipe_says_why(parts: dict[str, float], feel: str, told: str) -> None:
    answer = advisor.correct({"recipe": recipe(parts), "report": {"feel": feel}})
    assert answer.status == "unchanged"
    assert told in {note.id for note in answer.notes}


def test_a_demand_that_stands_alone_excludes_no_other() -> None:
    with pytest.raises(advisor.errors.NoRecipeFits) as refused:
        advisor.correct(
            {"recipe": recipe(BAR), "report": {"feel": "too_wet"}, "wishes": {"active": {"min": 95}}}
        )
    assert "exclude each other" not in refused.value.detail
    assert [fault.problem for fault in refused.value.faults] == ["cannot be met with what may be used"]
