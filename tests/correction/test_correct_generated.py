"""Properties of every correction, over 2 000 generated recipes and reports from fixed seeds."""

import random
from typing import Any

import pytest

import advisor
from advisor.correction.schema import CorrectionAnswer
from advisor.errors import AdvisorError, NoRecipeFits
from helpers import makers
from helpers.counts import counted

GENERATED = counted(2_000)
pytestmark = pytest.mark.slow
BLOCKS = 10
UNUSABLE = ["talc", "sodium-bicarbonate", "behentrimonium-50"]


def body(seed: int) -> dict[str, Any]:
    return {"recipe": makers.recipe(seed), "report": makers.report(seed), "wishes": makers.wishes(seed)}


def corrected(asked: dict[str, Any]) -> CorrectionAnswer | None:
    try:
        return advisor.correct(asked)
    except NoRecipeFits:
        return None


def percents(answer: CorrectionAnswer) -> dict[str, float]:
    return {line.material: line.percent for line in answer.recipe.lines}


def seeds(block: int) -> range:
    return range(block * GENERATED // BLOCKS, (block + 1) * GENERATED // BLOCKS)


@pytest.mark.parametrize("block", range(BLOCKS))
def test_every_correction_adds_up_goes_the_reported_way_and_keeps_its_limits(block: int) -> None:
    fitted = 0
    for seed in seeds(block):
        asked = body(seed)
        answer = corrected(asked)
        if answer is None:
            continue
        fitted += 1
        hundredths = [round(line.percent * 100) for line in answer.recipe.lines]
        assert sum(hundredths) == 10_000, seed
        assert all(line.percent == round(line.percent, 2) for line in answer.recipe.lines), seed
        short = {
            "how wet it is for its powders",
            "oil per powder",
            "water-based part of the liquids",
            "humectants",
            "what draws moisture",
            "surfactants that draw moisture",
        }
        broken = {c.name for c in answer.checks if not c.ok and c.kind != "advice"}
        noted = any(note.id == "target-not-reached" for note in answer.notes)
        assert broken <= short, seed
        assert bool(broken) <= noted, seed
        before, after = answer.before.consistency.wetness, answer.after.consistency.wetness
        assert before is not None and after is not None
        feel, degree = asked["report"]["feel"], asked["report"]["degree"]
        step = {"slight": 0.05, "clear": 0.10, "severe": 0.20}[degree]
        if feel == "too_wet":
            assert after < before
            assert noted or after == pytest.approx(before * (1 - step), rel=0.011, abs=0.0011)
        if feel == "too_dry":
            assert after > before
            assert noted or after == pytest.approx(before * (1 + step), rel=0.011, abs=0.0011)
        if feel in ("workable", "cracks_while_drying"):
            assert noted or after == pytest.approx(before, abs=0.02 * before + 0.001)
    assert fitted >= 0.95 * GENERATED / BLOCKS


@pytest.mark.parametrize("block", range(BLOCKS))
def test_every_change_is_told_with_a_reason_and_the_rest_stays(block: int) -> None:
    for seed in seeds(block):
        asked = body(seed)
        answer = corrected(asked)
        if answer is None:
            continue
        before = {line["material"]: line["percent"] for line in asked["recipe"]["lines"]}
        after = percents(answer)
        told = {change.material: change for change in answer.changes}
        for key in before.keys() | after.keys():
            if key in told:
                assert told[key].before == before.get(key, 0.0)
                assert told[key].after == after.get(key, 0.0)
                assert told[key].change == pytest.approx(after.get(key, 0.0) - before.get(key, 0.0))
                assert told[key].why.endswith(".")
            else:
                assert after[key] == before[key], seed
        assert bool(told) == (answer.status == "corrected")


def test_at_most_three_lines_move_in_four_of_five_corrections() -> None:
    answers = [corrected(body(seed)) for seed in range(counted(1_000))]
    movers = [len(answer.changes) for answer in answers if answer is not None and answer.changes]
    assert sum(count <= 3 for count in movers) >= 0.8 * len(movers)


@pytest.mark.parametrize("block", range(BLOCKS))
def test_order_of_lines_and_an_unusable_shelf_do_not_matter(block: int) -> None:
    for seed in list(seeds(block))[::4]:
        asked = body(seed)
        answer = corrected(asked)
        lines = list(asked["recipe"]["lines"])
        random.Random(seed).shuffle(lines)
        shelf = [key for key in UNUSABLE if makers.at_hand([key])]
        other = corrected(asked | {"recipe": {**asked["recipe"], "lines": lines}, "shelf": shelf[::-1]})
        assert (answer is None) == (other is None), seed
        if answer is not None and other is not None:
            assert percents(answer) == percents(other), seed


@pytest.mark.parametrize("block", range(BLOCKS))
def test_a_corrected_recipe_called_workable_comes_back_unchanged(block: int) -> None:
    for seed in list(seeds(block))[::4]:
        asked = body(seed)
        answer = corrected(asked)
        if answer is None:
            continue
        again = advisor.correct(
            {
                "recipe": answer.recipe.model_dump(),
                "report": {"feel": "workable"},
                "wishes": asked["wishes"],
            }
        )
        assert again.status == "unchanged", seed
        assert percents(again) == percents(answer)


def test_a_reason_names_what_would_break_had_the_line_stayed() -> None:
    """An independent judge: put each line back alone and look for the broken demand that the sentence names."""
    told = 0
    for seed in range(200):
        asked = body(seed)
        answer = corrected(asked)
        if answer is None or answer.status != "corrected":
            continue
        for change in answer.changes:
            if "how wet it is for its powders would be" not in change.why_figures:
                continue
            amounts = percents(answer) | {change.material: change.before}
            if not change.before:
                del amounts[change.material]
            lines = [{"material": key, "grams": amount * 10} for key, amount in amounts.items() if amount]
            wetness = advisor.assess({"recipe": {"lines": lines}}).consistency.wetness
            named = float(
                change.why_figures.split("how wet it is for its powders would be ")[1].split(" ")[0]
            )
            assert wetness == pytest.approx(named, abs=2e-3), (seed, change.why_figures)
            told += 1
    assert told > 100


def test_scaling_the_batch_does_not_matter() -> None:
    for seed in range(0, 120, 3):
        asked = body(seed)
        lines = [
            {"material": line["material"], "grams": round(line["percent"] * 37, 6)}
            for line in asked["recipe"]["lines"]
        ]
        one, other = corrected(asked), corrected(asked | {"recipe": {"lines": lines}})
        assert (one is None) == (other is None)
        if one is not None and other is not None:
            assert percents(one) == pytest.approx(percents(other), abs=0.011), seed


def test_only_documented_errors() -> None:
    codes = set()
    for seed in range(counted(600)):
        rng = random.Random(seed)
        asked = body(seed)
        keys = [line["material"] for line in asked["recipe"]["lines"]]
        asked["wishes"] |= {
            "active": {"min": rng.uniform(0, 60), "max": rng.uniform(30, 100)},
            "fixed": rng.sample(keys, rng.randint(0, len(keys))),
            "components": {"Phenoxyethanol": {"max": rng.uniform(0, 1)}},
        }
        try:
            answer = advisor.correct(asked)
        except AdvisorError as error:
            codes.add(error.code)
            problem = error.problem()
            assert problem["conflict"], seed
            assert all(entry["demand"] for entry in problem["conflict"])
            nearest = problem["nearest"]
            if nearest is not None:
                total = sum(round(line["percent"] * 10_000) for line in nearest["recipe"]["lines"])
                assert total == 1_000_000
                assert nearest["bends"], seed
        else:
            assert answer.status in ("corrected", "unchanged")
    assert codes == {"no-recipe-fits"}


def test_a_conflict_is_irreducible() -> None:
    """Give up any one named wish of a conflict and a recipe is found."""
    recipe = {
        "lines": [
            {"material": "isethionate-powder", "percent": 54},
            {"material": "kaolin", "percent": 20},
            {"material": "betaine-30", "percent": 20},
            {"material": "sunflower-oil", "percent": 5},
            {"material": "phenoxyethanol-blend", "percent": 1},
        ]
    }
    wishes: dict[str, Any] = {
        "active": {"min": 52.5},
        "fixed": ["isethionate-powder"],
        "lines": {"betaine-30": {"max": 22}},
        "market": "eu",
    }
    report = {"feel": "too_dry", "degree": "slight"}
    with pytest.raises(NoRecipeFits) as refusal:
        advisor.correct({"recipe": recipe, "report": report, "wishes": wishes})
    assert {entry["where"] for entry in refusal.value.problem()["conflict"]} == {
        "/wishes/active/min",
        "/wishes/fixed/0",
        "/wishes/lines/betaine-30/max",
    }
    for given_up in ("active", "fixed", "lines"):
        kept = {name: value for name, value in wishes.items() if name != given_up}
        assert advisor.correct({"recipe": recipe, "report": report, "wishes": kept}).status == "corrected"


def test_where_nothing_fits_the_bench_is_still_advised() -> None:
    lines = [
        {"material": "coco-sulfate-needles", "percent": 60},
        {"material": "kaolin", "percent": 8},
        {"material": "betaine-30", "percent": 30},
        {"material": "glycerin", "percent": 2},
    ]
    asked = {
        "recipe": {"lines": lines},
        "report": {"feel": "crumbling"},
        "wishes": {"active": {"min": 70}},
    }
    with pytest.raises(NoRecipeFits) as refusal:
        advisor.correct(asked)
    assert "mill-the-needles" in {item["id"] for item in refusal.value.problem()["advice"]}
