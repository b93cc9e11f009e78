"""A sensitivity is what a second correction, asked with the wider band, really answers."""

from typing import Any

import pytest

import advisor
from advisor.errors import NoRecipeFits
from helpers import makers


def percents(answer: Any) -> dict[str, float]:
    return {line.material: line.percent for line in answer.recipe.lines}


def test_easing_the_band_of_active_matter_has_the_told_effect() -> None:
    proved = 0
    for seed in range(160):
        asked = {"recipe": makers.recipe(seed), "report": makers.report(seed), "wishes": makers.wishes(seed)}
        try:
            answer = advisor.correct(asked)
        except NoRecipeFits:
            continue
        told = [one for one in answer.sensitivities if one.name == "active matter"]
        if not told:
            continue
        own = answer.before.totals.active
        amounts = {line["material"]: line["percent"] for line in asked["recipe"]["lines"]}
        exact = advisor.assess({"recipe": asked["recipe"], "wishes": {"active": {"min": 0}}})
        assert exact.totals.active == own
        check = next(one for one in answer.checks if one.name == "active matter")
        for one in told:
            low = check.min - (one.per if one.bound == "min" else 0)
            high = check.max + (one.per if one.bound == "max" else 0)
            wider = {**asked["wishes"], "active": {"min": low, "max": high}}
            again = advisor.correct({**asked, "wishes": wider})
            moved = percents(again).get(one.effect_of, 0.0) - percents(answer).get(one.effect_of, 0.0)
            assert moved == pytest.approx(one.effect, abs=0.011), (seed, amounts)
            proved += 1
    assert proved >= 20
