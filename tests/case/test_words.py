"""Without a maker's own doughs most recipes are neither wet nor dry; with them the word follows."""

from typing import Any

import pytest

import advisor

ORDINARY = {
    "fine isethionate and clay": {
        "isethionate-powder": 52, "kaolin": 15, "betaine-30": 22, "glycerin": 5, "jojoba-oil": 5, "phenoxyethanol-blend": 1,
    },
    "sulfoacetate and starch": {
        "sulfoacetate-powder": 36, "corn-starch": 24, "kaolin": 6, "cocoamphoacetate": 22, "glycerin": 6, "castor-oil": 5, "phenoxyethanol-blend": 1,
    },
    "sulfosuccinate": {
        "sulfosuccinate-powder": 50, "tapioca-starch": 21, "betaine-30": 18, "glycerin": 5, "olive-oil": 5, "phenoxyethanol-blend": 1,
    },
    "wetted by glucoside": {
        "isethionate-powder": 50, "rice-flour": 18, "coco-glucoside-52": 22, "glycerin": 4, "squalane": 5, "phenoxyethanol-blend": 1,
    },
    "fatty alcohol, judged cold": {
        "isethionate-powder": 54, "kaolin": 13, "betaine-30": 16, "cetyl-alcohol": 7, "glycerin": 5, "jojoba-oil": 4, "phenoxyethanol-blend": 1,
    },
}  # fmt: skip


def recipe(amounts: dict[str, float]) -> dict[str, Any]:
    return {"lines": [{"material": key, "percent": percent} for key, percent in amounts.items()]}


@pytest.mark.parametrize("kind", ORDINARY)
def test_the_library_alone_calls_no_ordinary_recipe_wet_or_dry(kind: str) -> None:
    consistency = advisor.assess({"recipe": recipe(ORDINARY[kind])}).consistency
    assert consistency.word == "unknown", consistency
    assert consistency.basis == "estimate"
    assert 0.7 <= (consistency.wetness_at_20c or 0) <= 1.35


def test_a_report_outweighs_the_library() -> None:
    for feel, words in (("too_wet", {"wet", "slightly_wet"}), ("too_dry", {"dry", "slightly_dry"})):
        asked = {"recipe": recipe(ORDINARY["fine isethionate and clay"]), "report": {"feel": feel}}
        assert advisor.assess(asked).consistency.word in words


def test_a_maker_whose_doughs_agree_gets_a_word() -> None:
    good = recipe(ORDINARY["fine isethionate and clay"])
    history = [{"recipe": good, "report": {"feel": "workable"}}] * 6
    wetter = dict(ORDINARY["fine isethionate and clay"]) | {"betaine-30": 30, "isethionate-powder": 44}
    assert advisor.assess({"recipe": good, "history": history}).consistency.word == "workable"
    assert advisor.assess({"recipe": recipe(wetter), "history": history}).consistency.word == "wet"


def test_chances_are_the_same_evidence_before_and_after() -> None:
    answer = advisor.correct({"recipe": recipe(ORDINARY["sulfosuccinate"]), "report": {"feel": "too_wet"}})
    before, after = answer.before.consistency, answer.after.consistency
    assert before.chance_workable is not None and after.chance_workable is not None
    assert after.chance_workable > before.chance_workable
    assert before.chance_close is not None and before.chance_close >= before.chance_workable


@pytest.mark.parametrize("missing", ["powder", "liquid"])
def test_no_powder_or_no_liquid_has_no_consistency(missing: str) -> None:
    amounts = {"betaine-30": 60, "glycerin": 40} if missing == "powder" else {"kaolin": 60, "corn-starch": 40}
    answer = advisor.assess({"recipe": recipe(amounts)})
    assert answer.consistency.wetness is None
    assert answer.consistency.chance_workable is None
    assert not [check for check in answer.checks if check.kind == "dough"]
    corrected = advisor.correct({"recipe": recipe(amounts), "report": {"feel": "too_wet"}})
    assert corrected.after.consistency.wetness is None
