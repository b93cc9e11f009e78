"""What is told beside a pH dose: true of this material, this recipe, this unit and this state."""

from typing import Any

import pytest

import advisor
from advisor.errors import InvalidRequest
from advisor.printing.measurements import dose as laid_out
from advisor.printing.plain import as_text
from advisor.printing.told import Told

BAR = {"isethionate-powder": 55.0, "kaolin": 14.0, "betaine-30": 25.0, "glycerin": 5.0}
READ = {"first_ph": 7.0, "dose": 0.5, "second_ph": 6.0, "target_ph": 5.5, "test_percent": 10}
UP = {"first_ph": 4.6, "dose": 0.3, "second_ph": 5.0, "target_ph": 5.3, "test_percent": 10}


def recipe(**more: float) -> dict[str, Any]:
    parts = {**BAR, **{key.replace("_", "-"): percent for key, percent in more.items()}}
    parts["kaolin"] += 100 - sum(parts.values())
    return {"lines": [{"material": key, "percent": percent} for key, percent in parts.items()]}


def told(body: dict[str, Any]) -> dict[str, str]:
    answer = advisor.dose(body)
    return {one.id: one.text for one in (*answer.cautions, *answer.notes)}


@pytest.mark.parametrize(("unit", "spoken"), [("grams", "g"), ("millilitres", "ml"), ("drops", "drops")])
@pytest.mark.parametrize("dose", [0.4, 2.0, 8.0])
def test_what_the_batch_needs_is_told_in_the_unit_of_the_trial(unit: str, spoken: str, dose: float) -> None:
    said = told({**READ, "dose": dose, "unit": unit, "test_dough_grams": 10, "batch_grams": 600})
    assert f": {60 * dose:g} {spoken} for this batch" in said["trial"]
    assert ("weigh-it" in said) == (unit != "grams")


@pytest.mark.parametrize(("unit", "grams"), [("millilitres", "13"), ("drops", "0.55")])
def test_what_nobody_counts_is_told_in_grams(unit: str, grams: str) -> None:
    body = {**READ, "unit": unit, "test_dough_grams": 10, "batch_grams": 600}
    pour = advisor.dose(body).pour_first
    assert pour is not None
    assert f"{pour.amount:g} {unit} are about {grams} g" in told(body)["weigh-it"]


@pytest.mark.parametrize("target", [6.1, 6.4, 6.9])
def test_a_batch_is_not_given_a_trial_dose_that_went_too_far(target: float) -> None:
    body = {**READ, "target_ph": target, "test_dough_grams": 10, "batch_grams": 600}
    said, answer = told(body), advisor.dose(body)
    assert answer.state == "passed"
    assert "trial" not in said
    needed = float(said["passed-batch"].split("by the line ")[1].split(" g")[0])
    assert 0.9 * 30 * (7.0 - target) <= needed <= 30 * (7.0 - target) + 1e-9


def test_a_batch_is_not_given_what_moved_the_ph_the_wrong_way() -> None:
    said = told({**READ, "target_ph": 7.4, "test_dough_grams": 10, "batch_grams": 600})
    assert not {"trial", "passed-batch"} & said.keys()
    assert said["away"].endswith(
        "Try a little bicarbonate or sodium citrate, before any lye on a fresh test dough."
    )
    up = told({**UP, "target_ph": 4.5, "test_dough_grams": 10, "batch_grams": 600})
    assert "a little citric or lactic acid" in up["away"]


@pytest.mark.parametrize("target", [5.2, 5.5, 6.0, 6.5, 7.5])
@pytest.mark.parametrize(
    ("key", "works_to"),
    [("benzoate-sorbate-liquid", 5.0), ("benzyl-alcohol-blend", 6.0), ("phenoxyethanol-blend", 10.0)],
)
def test_a_target_at_which_the_preservative_does_nothing_is_said(
    key: str, works_to: float, target: float
) -> None:
    lines = recipe(**{key: 1.0})
    answer = advisor.dose({**READ, "first_ph": 9.5, "second_ph": 8.5, "target_ph": target, "recipe": lines})
    first = [one.id for one in answer.cautions]
    assert (first[0] == "preservative-useless") == (target > works_to)


@pytest.mark.parametrize(("target", "told_of"), [(5.5, True), (6.9, True), (7.2, False)])
def test_a_target_that_a_surfactant_does_not_bear_is_said(target: float, told_of: bool) -> None:
    lines = recipe(glycinate_powder=10.0, phenoxyethanol_blend=0.9)
    body = {**READ, "first_ph": 9.5, "second_ph": 8.5, "target_ph": target, "recipe": lines}
    assert ("Sodium cocoyl glycinate does not bear" in told(body).get("pair:stated-ph", "")) == told_of


def test_gas_is_spoken_of_where_the_recipe_has_what_gives_it() -> None:
    assert "bicarbonate" in told(READ)
    assert not {"bicarbonate", "carbonate"} & told({**READ, "recipe": recipe()}).keys()
    lines = recipe(bicarbonate=0.5)
    assert told({**READ, "recipe": lines})["carbonate"].startswith("Sodium bicarbonate in this recipe")


@pytest.mark.parametrize(
    ("body", "key", "ids"),
    [
        (READ, None, {"acid"}),
        (READ, "citric-acid-50", {"acid"}),
        (READ, "citric-acid", {"acid", "harmful-dust"}),
        (READ, "lactic-acid-80", {"acid", "eyes"}),
        (READ, "gluconolactone", {"stirred"}),
        (UP, "sodium-citrate", {"stirred"}),
        (UP, "bicarbonate", {"gasses"}),
        (UP, "lye-10", {"alkali"}),
        (UP, "arginine", {"stirred"}),
    ],
)
def test_what_burns_is_said_to_burn_and_nothing_else(
    body: dict[str, Any], key: str | None, ids: set[str]
) -> None:
    asked = {**body, "material": key, "recipe": recipe()} if key else {**body, "recipe": recipe()}
    assert {one.id for one in advisor.dose(asked).cautions} == ids


@pytest.mark.parametrize("key", ["arginine", "triethanolamine"])
def test_an_alkali_without_a_known_cap_is_dosed_and_said_so(key: str) -> None:
    answer = advisor.dose({**UP, "material": key, "test_dough_grams": 50, "batch_grams": 1000})
    assert answer.pour_first is not None
    assert answer.pour_first.material == key
    assert "no-cap" in {one.id for one in answer.notes}


def test_what_is_no_acid_is_refused_with_a_way_out() -> None:
    with pytest.raises(InvalidRequest) as caught:
        advisor.dose({**READ, "material": "kaolin"})
    assert "leave it out" in caught.value.problem()["errors"][0]["hint"]


@pytest.mark.parametrize(("percent", "told_of"), [(1, True), (4, True), (5, False), (10, False), (25, True)])
def test_a_dispersion_that_does_not_compare_is_said(percent: float, told_of: bool) -> None:
    assert ("diluted" in told({**READ, "test_percent": percent})) == told_of


def test_a_batch_without_the_mass_of_the_test_is_not_passed_over() -> None:
    assert "no-scale" in told({**READ, "batch_grams": 600})
    assert "no-scale" not in told({**READ, "batch_grams": 600, "test_dough_grams": 10})


def test_the_notification_below_ph_3_is_not_spoken_of_where_no_dose_leads_there() -> None:
    for target in (4.5, 6.5, 7.5):
        assert "notification" not in " ".join(
            told({**READ, "first_ph": 9.0, "second_ph": 8.0, "target_ph": target}).values()
        )


@pytest.mark.parametrize("target", [6.5, 7.5])
def test_no_table_of_noughts_is_printed(target: float) -> None:
    body = {**READ, "target_ph": target}
    printed = as_text(laid_out(advisor.dose(body), Told(body)))
    assert " 0 g" not in printed
    assert "pH 6" in printed
