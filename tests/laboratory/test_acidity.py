"""pH against published and independent figures, and why the pH of a paste is not predicted."""

from collections.abc import Callable
from typing import Any

import pytest

from advisor import assess, dose
from advisor.errors import InvalidRequest
from advisor.laboratory.next_dose import next_dose
from advisor.law.acidity import species, undissociated
from advisor.law.preservation import preservation_change, preservation_texts, preservatives
from advisor.rulebook.load import load_rulebook

CITRIC = (3.13, 4.76, 6.40)
PHOSPHORIC = (2.15, 7.20, 12.35)
ION_PRODUCT = 1e-14


def balanced(charge: Callable[[float], float]) -> float:
    """Return the pH at which a falling charge balance is zero."""
    low, high = 0.0, 14.0
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if charge(middle) > 0 else (low, middle)
    return (low + high) / 2


def anions(ph: float, total: float, pka: tuple[float, ...]) -> float:
    return total * sum(count * share for count, share in enumerate(species(ph, pka)))


def test_a_tenth_molar_citric_acid_has_the_ph_of_the_reference_library() -> None:
    # 2.0828; chempy 0.10.2 gives 2.082779 for the same constants.
    found = balanced(lambda ph: 10**-ph - ION_PRODUCT / 10**-ph - anions(ph, 0.1, CITRIC))
    assert found == pytest.approx(2.082779, abs=5e-6)


def test_citric_acid_at_ph_five_splits_as_published() -> None:
    assert species(5.0, CITRIC) == pytest.approx((0.00478, 0.35455, 0.61614, 0.02453), abs=5e-6)


@pytest.mark.parametrize(
    ("pka", "ph", "percent"),
    [(4.20, 5.0, 13.68), (4.20, 5.5, 4.77), (4.76, 5.0, 36.53), (4.76, 5.5, 15.40), (4.20, 4.20, 50.0)],
)
def test_undissociated_acid_is_as_published(pka: float, ph: float, percent: float) -> None:
    assert 100 * undissociated(ph, pka) == pytest.approx(percent, abs=5e-3)


@pytest.mark.parametrize("ph", [0.0, 3.0, 7.0, 14.0])
def test_species_add_up_to_one(ph: float) -> None:
    assert sum(species(ph, CITRIC)) == pytest.approx(1.0)


def test_ideal_arithmetic_misses_the_published_buffers_by_tenths_of_a_ph() -> None:
    # McIlvaine, J. Biol. Chem. 49 (1921) 183: ml of 0.2 mol/l disodium phosphate in 20 ml with 0.1 mol/l citric
    # acid, and the pH measured.
    table = {3.0: 4.11, 4.0: 7.71, 5.0: 10.30, 6.0: 12.63, 7.0: 16.47}
    errors = []
    for measured, phosphate_ml in table.items():
        phosphate, citrate = 0.2 * phosphate_ml / 20, 0.1 * (20 - phosphate_ml) / 20

        def charge(ph: float, p: float = phosphate, c: float = citrate) -> float:
            held = anions(ph, p, PHOSPHORIC) + anions(ph, c, CITRIC)
            return 2 * p + 10**-ph - ION_PRODUCT / 10**-ph - held

        errors.append(abs(balanced(charge) - measured))
    assert 0.2 < max(errors) < 0.8


TRIAL = {"first_ph": 7.4, "dose": 0.5, "second_ph": 6.4, "target_ph": 5.9, "test_percent": 10}


def test_the_next_dose_follows_the_line_through_two_readings() -> None:
    # 0.5 x (6.4 - 5.9) / (7.4 - 6.4) = 0.25 on 10 g of dough: 20 g on 800 g, and 40 g for the trial dose.
    answer = dose({**TRIAL, "test_dough_grams": 10, "batch_grams": 800})
    assert (answer.next_dose, answer.capped, answer.state) == (0.25, False, "add")
    assert 0.7 <= answer.share_to_add_first <= 0.8
    assert (answer.batch_dose, answer.batch_trial_dose) == (20.0, 40.0)
    assert answer.reaches_ph == 5.9
    assert dose(TRIAL).batch_dose is None


def test_one_step_goes_seven_tenths_at_most() -> None:
    answer = dose({**TRIAL, "target_ph": 5.0})
    assert answer.capped
    assert answer.next_dose == pytest.approx(0.35)
    assert answer.reaches_ph == pytest.approx(5.7)
    exact = dose({**TRIAL, "target_ph": 5.7})
    assert (exact.capped, exact.next_dose) == (False, 0.35)


def test_alkali_goes_the_other_way() -> None:
    answer = dose({**TRIAL, "first_ph": 4.0, "second_ph": 4.5, "target_ph": 5.0})
    assert answer.next_dose == pytest.approx(0.5)


@pytest.mark.parametrize(
    ("change", "state"),
    [({"target_ph": 6.4}, "passed"), ({"target_ph": 6.8}, "passed"), ({"target_ph": 7.9}, "away")],
)
def test_nothing_is_added_where_the_target_is_passed(change: dict[str, Any], state: str) -> None:
    answer = dose({**TRIAL, "confirmed": True, **change})
    assert (answer.next_dose, answer.state) == (0.0, state)
    assert state in [note.id for note in answer.notes]


def test_a_dose_that_hardly_moved_the_ph_gives_no_line() -> None:
    with pytest.raises(InvalidRequest) as caught:
        dose({**TRIAL, "second_ph": 7.38})
    assert [fault.where for fault in caught.value.faults] == ["/second_ph"]


@pytest.mark.parametrize("target", [4.5, 5.5, 6.0])
def test_the_dose_does_not_depend_on_its_unit(target: float) -> None:
    rules = load_rulebook().acidity.dose
    one = next_dose(7.4, 1.0, 6.4, target, rules)
    thousand = next_dose(7.4, 1000.0, 6.4, target, rules)
    assert thousand.dose == pytest.approx(1000 * one.dose)


def test_every_answer_says_how_a_ph_is_read_and_how_acid_goes_in() -> None:
    answer = dose(TRIAL)
    assert {caution.id for caution in answer.cautions} == {"acid", "bicarbonate"}
    alkali = dose({**TRIAL, "first_ph": 4.0, "second_ph": 4.5, "target_ph": 5.0})
    assert {caution.id for caution in alkali.cautions} == {"alkali"}
    assert not dose({**TRIAL, "target_ph": TRIAL["second_ph"]}).cautions
    assert "10 % dispersion" in next(note.text for note in answer.notes if note.id == "reading")
    assert "low-high" not in [note.id for note in dose({**TRIAL, "target_ph": 5.8}).notes]
    assert "low-high" in [note.id for note in dose({**TRIAL, "target_ph": 5.9}).notes]


RULES = load_rulebook()
EU = RULES.laws["eu"]


def told(parts: dict[str, float], ph: float | None, before: dict[str, float] | None = None) -> dict[str, str]:
    lines = [(percent, RULES.ingredients[key].material) for key, percent in parts.items()]
    found = preservatives(lines, ph, RULES.substances, EU)
    said = [*preservation_texts(found, lines, ph, RULES.preservation)]
    if before is not None:
        said += preservation_change(found, before, RULES.preservation)
    return {item.id: item.text for item in said}


def test_benzoate_with_sorbate_is_as_good_as_none_at_ph_six() -> None:
    # 0.5 % sodium benzoate and 0.3 % potassium sorbate at pH 6.1 leave 0.005 and 0.010 % free acid.
    parts = {"sodium-benzoate": 0.5 / 0.995, "potassium-sorbate": 0.3 / 0.99}
    lines = [(percent, RULES.ingredients[key].material) for key, percent in parts.items()]
    found = preservatives(lines, 6.1, RULES.substances, EU)
    free = {acid.component: acid.percent for item in found for acid in item.free_acids}
    assert free["Sodium Benzoate"] == pytest.approx(0.005, abs=5e-4)
    assert free["Potassium Sorbate"] == pytest.approx(0.010, abs=5e-4)
    said = told(parts, 6.1)
    assert "as good as none" in said["preservation-free-acid-low-sodium-benzoate"]
    assert "preservation-ph-outside-sodium-benzoate" in said


def test_without_a_ph_nothing_is_known_to_work() -> None:
    said = told({"sodium-benzoate": 0.5}, None)
    assert "not known" in said["preservation-ph-unknown-sodium-benzoate"]
    assert not any("inside" in text for text in said.values())


def test_inside_its_range_a_preservative_is_still_no_proof() -> None:
    said = told({"phenoxyethanol-blend": 1.0, "kaolin": 99.0}, 5.5)
    assert "preservation-ph-inside-phenoxyethanol-blend" in said
    assert "ISO 11930" in said["preservation-challenge"]


def test_multifunctionals_alone_carry_no_verdict() -> None:
    said = told({"caprylhydroxamic-blend": 1.0}, 5.5)
    assert "preservation-only-multifunctional" in said
    assert "preservation-multifunctional-caprylhydroxamic-blend" in said


@pytest.mark.parametrize("parts", [{}, {"kaolin": 100.0}])
def test_a_bar_without_preservative_is_never_said_to_need_none(parts: dict[str, float]) -> None:
    said = told(parts, 5.5)
    assert "in use its surface is wet" in said["preservation-none"]
    assert not any("needs no" in text.casefold() for text in RULES.preservation.text.values())


def test_dilution_and_exchange_are_said() -> None:
    said = told({"phenoxyethanol-blend": 0.4}, 5.5, {"phenoxyethanol-blend": 1.0})
    assert "preservation-diluted-phenoxyethanol-blend" in said
    assert "preservation-below-phenoxyethanol-blend" in said
    assert "preservation-swapped" not in said
    assert "preservation-swapped" in told({"sodium-benzoate": 0.5}, 4.5, {"phenoxyethanol-blend": 1.0})


def assessed(ph: float | None) -> dict[str, str]:
    lines = [
        {"material": "isethionate-powder", "percent": 70},
        {"material": "betaine-30", "percent": 29.5},
        {"material": "sodium-benzoate", "percent": 0.5},
    ]
    request: dict[str, Any] = {"recipe": {"lines": lines}, "wishes": {"market": "eu"}, "ph": ph}
    return {note.id: note.text for note in assess(request).notes}


def test_an_assessment_judges_the_preservation_at_the_measured_ph() -> None:
    assert "preservation-ph-unknown-sodium-benzoate" in assessed(None)
    assert "preservation-ph-inside-sodium-benzoate" in assessed(4.8)
    assert "preservation-free-acid-low-sodium-benzoate" in assessed(6.1)
    assert "law-ph-notified" in assessed(2.5)
    assert "law-ph-notified" not in assessed(4.8)


def test_a_dry_recipe_without_preservative_is_not_lectured() -> None:
    answer = assess({"recipe": {"lines": [{"material": "lead", "percent": 100}]}, "materials": [LEAD]})
    assert answer.notes == ()


LEAD = {
    "key": "lead",
    "name": "Lead",
    "form": "powder",
    "roles": ["filler"],
    "composition": {"lead": 100},
}


def test_what_assessments_ask_without_a_figure_is_said() -> None:
    assert "non-sensitising" in assess_notes("betaine-30")["assessed-amidopropyl-betaine"]
    assert "assessed-lauryl-sulfate" in assess_notes("coco-sulfate-powder")
    assert not [key for key in assess_notes("kaolin") if key.startswith("assessed-")]


def assess_notes(key: str) -> dict[str, str]:
    answer = assess({"recipe": {"lines": [{"material": key, "percent": 100}]}})
    return {note.id: note.text for note in answer.notes}
