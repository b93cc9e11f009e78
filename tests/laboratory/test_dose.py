"""pH doses: which targets may be asked for, how much a dough bears, and what is poured first."""

from typing import Any

import pytest

import advisor
from advisor.errors import InvalidRequest, UnknownMaterial

BAR = {"isethionate-powder": 60.0, "kaolin": 15.0, "betaine-30": 25.0}
GLUCOSIDE = {"isethionate-powder": 40.0, "kaolin": 15.0, "decyl-glucoside-52": 45.0}


def asked(**changed: Any) -> dict[str, Any]:
    return {"first_ph": 7.0, "dose": 0.5, "second_ph": 6.0, "target_ph": 5.5, "test_percent": 10, **changed}


def recipe(parts: dict[str, float]) -> dict[str, Any]:
    return {"lines": [{"material": key, "percent": percent} for key, percent in parts.items()]}


def refused(body: dict[str, Any]) -> dict[str, Any]:
    with pytest.raises(InvalidRequest) as caught:
        advisor.dose(body)
    return caught.value.problem()


@pytest.mark.parametrize("target", [4.5, 5.0, 6.0, 7.0, 7.5])
def test_a_usual_target_needs_no_word(target: float) -> None:
    assert advisor.dose(asked(target_ph=target)).state in ("add", "passed", "away")


@pytest.mark.parametrize("target", [4.0, 4.2, 4.49, 7.51, 8.0, 9.0])
def test_an_unusual_target_has_to_be_confirmed(target: float) -> None:
    problem = refused(asked(target_ph=target))
    assert problem["errors"][0]["where"] == "/target_ph"
    assert "confirmed" in problem["errors"][0]["hint"]
    assert refused(asked(target_ph=target, confirmed=False))["status"] == 422
    assert advisor.dose(asked(target_ph=target, confirmed=True)).state in ("add", "passed", "away")


@pytest.mark.parametrize(
    ("target", "why"), [(3.99, "skin stings"), (3.0, "skin stings"), (9.01, "harmed"), (11.0, "harmed")]
)
def test_a_target_beyond_is_refused_with_the_reason(target: float, why: str) -> None:
    problem = refused(asked(target_ph=target, confirmed=True))
    assert problem["errors"][0]["where"] == "/target_ph"
    assert why in problem["detail"]


def test_a_soap_bar_keeps_its_own_ph() -> None:
    soap = {"key": "soap-noodles", "name": "Soap noodles", "form": "granule", "roles": ["primary_surfactant"],
            "composition": {"Sodium Palmate": 60, "Sodium Cocoate": 20, "Aqua": 20}}  # fmt: skip
    for percent, ok in ((13.0, False), (12.0, True)):
        parts = {"isethionate-powder": 75.0 - percent, "betaine-30": 25.0, "soap-noodles": percent}
        body = asked(recipe=recipe(parts), materials=[soap])
        if ok:
            assert advisor.dose(body).next_dose
        else:
            assert refused(body)["errors"][0]["where"] == "/recipe"


@pytest.mark.parametrize(
    ("key", "target", "told"),
    [
        ("isethionate-powder", 4.9, True),
        ("isethionate-powder", 5.0, False),
        ("sulfoacetate-powder", 5.4, True),
        ("sulfoacetate-powder", 5.5, False),
        ("coco-sulfate-powder", 4.9, False),
    ],
)
def test_a_ph_at_which_a_surfactant_is_split_is_said(key: str, target: float, told: bool) -> None:
    body = asked(target_ph=target, recipe=recipe({key: 60.0, "kaolin": 15.0, "betaine-30": 25.0}))
    assert ("keeps" in {caution.id for caution in advisor.dose(body).cautions}) == told


def test_a_slope_needs_three_tenths_of_ph() -> None:
    assert refused(asked(second_ph=6.71))["errors"][0]["where"] == "/second_ph"
    assert advisor.dose(asked(second_ph=6.7)).next_dose


def test_the_meter_is_asked_after() -> None:
    told = {note.id: note.text for note in advisor.dose(asked()).notes}
    assert told["two-buffers"].endswith("before you dose.")
    assert "two buffers today?" in told["two-buffers"]


def test_no_step_is_over_three_times_the_trial_dose() -> None:
    # A shift of 0.3 for 0.1 g: three trials are 0.9 pH, so seven tenths of pH cap first; both are held.
    answer = advisor.dose(asked(first_ph=6.3, dose=0.1, second_ph=6.0, target_ph=4.6))
    assert answer.next_dose <= 0.3
    assert answer.next_dose == 0.23  # 0.1 * 0.7 / 0.3, in two figures
    rules = advisor.rulebook.load.load_rulebook().acidity.dose.model_copy(update={"trials_at_most": 2.0})
    assert advisor.laboratory.next_dose.next_dose(6.3, 0.1, 6.0, 4.6, rules).dose == pytest.approx(0.2)
    assert advisor.laboratory.next_dose.next_dose(6.3, 0.1, 6.0, 4.6, rules).capped == "trial"


@pytest.mark.parametrize(
    ("parts", "dose", "ok"),
    [
        (BAR, 1.9, True),  # 1.9 + 0.95 = 2.85 g on 100 g
        (BAR, 2.1, False),  # 3.15 g
        (GLUCOSIDE, 2.1, True),  # glucosides are a fifth: five percent
        (GLUCOSIDE, 3.4, False),  # 5.1 g
    ],
)
def test_acid_beyond_what_a_dough_needs_means_a_wrong_reading(
    parts: dict[str, float], dose: float, ok: bool
) -> None:
    body = asked(dose=dose, material="citric-acid", test_dough_grams=100, recipe=recipe(parts))
    if ok:
        assert (
            advisor.dose(body).next_dose == {1.9: 0.95, 2.1: 1.0}[dose]
        )  # a half, in the two figures that readings bear
    else:
        problem = refused(body)
        assert "measure again" in problem["detail"]
        assert problem["errors"][0]["where"] == "/second_ph"


def test_the_dose_counts_as_pure_substance() -> None:
    strong = asked(dose=4.0, material="citric-acid-50", test_dough_grams=100)
    assert refused(strong | {"material": "citric-acid"})
    assert advisor.dose(strong | {"dose": 3.9}).next_dose


@pytest.mark.parametrize(("dose", "next_dose", "capped"), [(2.0, 2.0, False), (3.2, 3.0, True)])
def test_lye_is_capped_a_step_and_in_all(dose: float, next_dose: float, capped: bool) -> None:
    # Lye of 10 % on 100 g: 0.3 g a step are 3 g of it, 0.8 g in all are 8 g.
    body = asked(
        first_ph=4.6, second_ph=5.0, target_ph=5.4, dose=dose, material="lye-10", test_dough_grams=100
    )
    answer = advisor.dose(body)
    assert (answer.next_dose, answer.capped) == (pytest.approx(next_dose), capped)
    assert ("step-cap" in {note.id for note in answer.notes}) == capped
    assert refused({**body, "dose": 4.1})["status"] == 422


def test_without_the_test_dough_the_caps_do_not_apply_and_it_is_said() -> None:
    answer = advisor.dose(asked(dose=20.0, material="citric-acid"))
    assert answer.next_dose == 10.0
    assert "no-dough" in {note.id for note in answer.notes}
    assert "no-material" in {note.id for note in advisor.dose(asked()).notes}


@pytest.mark.parametrize("dose", [0.013, 0.11, 0.5, 0.737, 1.0, 3.3, 47.0])
@pytest.mark.parametrize("second_ph", [7.7, 7.4, 7.13, 6.9])
@pytest.mark.parametrize("batch", [333.0, 500.0, 12_345.0])
def test_what_is_still_to_add_has_the_figures_that_readings_bear_and_is_never_more(
    dose: float, second_ph: float, batch: float
) -> None:
    body = asked(first_ph=8.1, second_ph=second_ph, target_ph=6.0, dose=dose)
    answer = advisor.dose({**body, "test_dough_grams": 100.0, "batch_grams": batch})
    rules = advisor.rulebook.load.load_rulebook().acidity.dose
    exact = advisor.laboratory.next_dose.next_dose(8.1, dose, second_ph, 6.0, rules).dose
    share = answer.share_to_add_first
    assert answer.pour_first is not None
    for told, whole in (
        (answer.next_dose, exact),
        (answer.first_dose, share * exact),
        (answer.batch_dose, exact * batch / 100),
        (answer.pour_first.amount, share * exact * batch / 100),
    ):
        assert told == float(f"{told:.2g}")
        assert 0.9 * whole <= told <= whole * (1 + 1e-9)


def test_what_to_pour_stands_first_with_unit_and_material() -> None:
    answer = advisor.dose(asked(material="citric-acid", test_dough_grams=100, batch_grams=500))
    fields = list(answer.model_dump())
    assert fields.index("pour_first") < fields.index("next_dose")
    assert answer.pour_first is not None
    assert answer.pour_first.model_dump() == {
        "amount": 0.93,  # 0.25 g x 5 x 0.75, in two figures
        "unit": "grams",
        "material": "citric-acid",
        "into": "batch",
    }
    drops = advisor.dose(asked(dose=10, unit="drops", material="lactic-acid-80", test_dough_grams=100))
    assert drops.pour_first is not None
    assert (drops.pour_first.unit, drops.pour_first.into, drops.pour_first.amount) == ("drops", "test", 3.7)
    assert "weigh-it" in {note.id for note in drops.notes}
    assert advisor.dose(asked(target_ph=6.5)).pour_first is None


@pytest.mark.parametrize("material", ["kaolin", "lye-10"])
def test_what_cannot_have_moved_the_ph_so_is_refused(material: str) -> None:
    assert refused(asked(material=material))["errors"][0]["where"] == "/material"


def test_an_unknown_material_is_named() -> None:
    with pytest.raises(UnknownMaterial):
        advisor.dose(asked(material="citric"))


@pytest.mark.parametrize(
    "changed",
    [
        {"first_ph": 7.2},
        {"dose": 0.4},
        {"second_ph": 6.1},
        {"target_ph": 5.6},
        {"test_percent": 5},
        {"test_dough_grams": 90},
        {"batch_grams": 600},
        {"material": "lactic-acid-80"},
        {"unit": "drops"},
        {"target_ph": 4.2, "confirmed": True},
        {"recipe": recipe({**BAR, "kaolin": 14.0, "sulfoacetate-powder": 1.0}), "target_ph": 5.4},
    ],
)
def test_every_field_changes_the_answer(changed: dict[str, Any]) -> None:
    base = asked(material="citric-acid", test_dough_grams=100, batch_grams=500, recipe=recipe(BAR))
    assert advisor.dose(base | changed).model_dump() != advisor.dose(base).model_dump()
