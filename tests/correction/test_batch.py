"""The next batch in grams, and a pH beside every verb."""

from typing import Any

import pytest

import advisor
from helpers.recipes import filled, on_every_road, special

BODY = {"recipe": filled({}), "report": {"feel": "too_wet"}}
SWAP = {
    "recipe": filled({}),
    "missing": "betaine-30",
    "replacements": ["hydroxysultaine-42"],
    "shelf": ["water"],
}


@pytest.mark.parametrize(("batch", "step"), [(200.0, 0.01), (500.0, 0.1), (3000.0, 1.0)])
def test_changes_and_hold_back_are_told_in_whole_steps(batch: float, step: float) -> None:
    answer = advisor.correct({**BODY, "batch_grams": batch, "balance_step": step})
    assert answer.changes and answer.hold_back
    for change in answer.changes:
        for percent, grams in ((change.before, change.grams_before), (change.after, change.grams_after)):
            assert grams == pytest.approx(percent * batch / 100, abs=step / 2 + 1e-9)
            assert round(grams / step) * step == pytest.approx(grams, abs=1e-6)
    for held in answer.hold_back:
        assert held.grams == pytest.approx(held.percent * batch / 100, abs=step / 2 + batch * 1e-4)


def test_without_a_batch_nothing_is_told_in_grams() -> None:
    answer = advisor.correct(BODY)
    assert all(change.grams_after is None for change in answer.changes)
    assert all(held.grams is None for held in answer.hold_back)


def test_a_recipe_in_grams_is_its_own_batch() -> None:
    lines = [{"material": one["material"], "grams": one["percent"] * 4} for one in BODY["recipe"]["lines"]]
    answer = advisor.correct({"recipe": {"lines": lines}, "report": BODY["report"]})
    assert all(change.grams_after == pytest.approx(change.after * 4, abs=1e-3) for change in answer.changes)


@pytest.mark.parametrize("body", [BODY, SWAP])
def test_a_balance_without_a_batch_is_refused(body: dict[str, Any]) -> None:
    task = advisor.correct if "report" in body else advisor.substitute
    with pytest.raises(advisor.AdvisorError) as refusal:
        task({**body, "balance_step": 0.1})
    assert refusal.value.problem()["errors"][0]["where"] == "/balance_step"


@pytest.mark.parametrize("left", [0.0, 5.0, 12.0, 20.0])
def test_what_is_left_is_used_and_the_rest_filled_up(left: float) -> None:
    whole = next(line["percent"] for line in SWAP["recipe"]["lines"] if line["material"] == "betaine-30")
    for told in ({"left_percent": left}, {"left_grams": left * 5, "batch_grams": 500.0}):
        answer = advisor.substitute({**SWAP, **told})
        amounts = {line.material: line.percent for line in answer.options[0].recipe.lines}
        assert amounts.get("betaine-30", 0.0) == pytest.approx(left)
        assert 42 * amounts["hydroxysultaine-42"] == pytest.approx(30 * (whole - left), rel=0.26)


def test_what_suffices_is_not_missing() -> None:
    for told, where in (
        ({"left_percent": 60.0}, "/left_percent"),
        ({"left_grams": 400.0, "batch_grams": 500.0}, "/left_grams"),
        ({"left_grams": 40.0}, "/left_grams"),
    ):
        with pytest.raises(advisor.AdvisorError) as refusal:
            advisor.substitute({**SWAP, **told})
        assert refusal.value.problem()["errors"][0]["where"] == where


def test_a_ph_counts_in_every_verb_and_so_does_its_dispersion() -> None:
    recipe = filled({"sodium-benzoate": 0.6, "phenoxyethanol-blend": 0.0001})
    recipe["lines"] = [line for line in recipe["lines"] if line["material"] != "phenoxyethanol-blend"]
    recipe["lines"][-1]["percent"] = round(recipe["lines"][-1]["percent"] + 0.0001, 4)
    told = on_every_road(recipe)
    at_8 = on_every_road(recipe, ph=8.0)
    thin = on_every_road(recipe, ph=8.0, ph_at_percent=1.0)
    same = on_every_road(recipe, ph=8.0, ph_at_percent=10.0)
    for verb in told.keys() - {"record"}:
        assert "preservative-useless" not in special(told[verb]), verb
        assert "preservative-useless" in special(at_8[verb]), verb
        assert "ph-not-comparable" in special(thin[verb]), verb
        assert "preservative-useless" not in special(thin[verb]), verb
        assert same[verb] == at_8[verb], verb


def test_a_dispersion_without_a_ph_is_refused() -> None:
    with pytest.raises(advisor.AdvisorError):
        advisor.assess({"recipe": filled({}), "ph_at_percent": 10.0})
