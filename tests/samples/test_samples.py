"""Every sample has the answer that stands beside it, and shows what its title says."""

import json
from typing import Any

import pytest

from tests.answers.__main__ import SAMPLES, answer, index


def kept(name: str) -> dict[str, Any]:
    answered: dict[str, Any] = json.loads((SAMPLES / "answers" / f"{name}.json").read_text(encoding="utf-8"))
    return answered


def unversioned(told: Any) -> Any:
    if isinstance(told, dict):
        return {name: unversioned(value) for name, value in told.items() if name != "rules_version"}
    return [unversioned(value) for value in told] if isinstance(told, list) else told


@pytest.mark.parametrize("name", index())
def test_the_answer_beside_a_sample_is_the_answer(name: str) -> None:
    now = answer(name, index()[name]["call"])
    assert unversioned(now) == unversioned(kept(name)), "run make samples and read what changed"


def test_at_least_ten_failing_doughs_of_different_kinds() -> None:
    asked = [
        json.loads((SAMPLES / f"{n}.json").read_text())
        for n, e in index().items()
        if e["call"] == "corrections"
    ]
    kinds = {(body["report"]["feel"], *body["report"].get("signs", ())) for body in asked}
    assert len(asked) >= 10
    assert len(kinds) >= 9


def ids(name: str, place: str) -> set[str]:
    return {item["id"] for item in kept(name)["body"][place]}


def moves(name: str) -> dict[str, float]:
    return {change["material"]: change["change"] for change in kept(name)["body"]["changes"]}


def test_the_hot_dough_is_told_to_wait_first() -> None:
    advice = [item["id"] for item in kept("judged-hot-from-the-melt")["body"]["advice"]]
    assert advice[:2] == ["let-it-cool", "let-the-fats-set"]
    assert kept("judged-hot-from-the-melt")["body"]["status"] == "unchanged"


def test_the_needles_are_sent_to_the_mill_and_get_no_liquid() -> None:
    assert kept("needles-not-milled")["body"]["advice"][0]["id"] == "mill-the-needles"
    consistency = [
        kept("needles-not-milled")["body"][when]["consistency"]["wetness"] for when in ("before", "after")
    ]
    assert consistency[1] == pytest.approx(consistency[0], rel=0.02)
    assert "grinding" in ids("needles-not-milled", "cautions")


def test_the_greasy_dough_loses_oil_and_keeps_its_wetness() -> None:
    before, after = (
        kept("greasy-crumbling-dough")["body"][when]["consistency"] for when in ("before", "after")
    )
    assert after["oil_per_powder"] <= 0.7 * before["oil_per_powder"] + 1e-3
    assert after["wetness"] == pytest.approx(before["wetness"], rel=0.021)


def test_the_preservative_is_cut_because_of_the_dried_bar() -> None:
    change = next(
        one
        for one in kept("over-the-limit-once-dried")["body"]["changes"]
        if one["material"] == "phenoxyethanol-blend"
    )
    assert change["change"] < 0
    assert "within the law" in change["why"]
    assert "phenoxyethanol in the dried bar would be" in change["why_figures"]


def test_the_impossible_wishes_name_each_other() -> None:
    answered = kept("wishes-that-exclude-each-other")
    assert answered["status"] == 422
    assert {entry["where"] for entry in answered["body"]["conflict"]} == {
        "/wishes/active/min",
        "/wishes/lines/betaine-30/max",
        "/wishes/fixed/0",
    }
    assert answered["body"]["nearest"]["bends"]


def test_the_cheapest_recipe_is_cheaper_with_one_new_material() -> None:
    body = kept("least-cost")["body"]
    assert body["after"]["totals"]["price_per_kg"] < body["before"]["totals"]["price_per_kg"]
    assert sum(not change["before"] for change in body["changes"]) <= 1


def test_sticky_though_stiff_gets_less_of_what_draws_moisture() -> None:
    assert moves("sticky-though-stiff")["glycerin"] < 0
    assert "not-more-powder" in ids("sticky-though-stiff", "advice")


def test_cracks_get_a_little_humectant_and_slower_drying() -> None:
    assert 0 < moves("cracks-in-the-drying-rack")["glycerin"] <= 1.0
    assert "slow-the-drying" in ids("cracks-in-the-drying-rack", "advice")


def test_earlier_doughs_set_the_target() -> None:
    check = next(
        one
        for one in kept("third-batch-with-two-behind-it")["body"]["checks"]
        if one["name"] == "how wet it is for its powders"
    )
    assert check["basis"] == "own"
    assert kept("third-batch-with-two-behind-it")["body"]["after"]["consistency"]["basis"] == "own"
