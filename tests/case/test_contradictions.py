"""Doughs that contradict each other are told, not quietly averaged."""

from typing import Any

import advisor

LINES = {"isethionate-powder": 50, "kaolin": 16, "tapioca-starch": 8, "betaine-30": 20, "glycerin": 5}
RECIPE = {
    "lines": [
        *({"material": k, "percent": p} for k, p in LINES.items()),
        {"material": "jojoba-oil", "percent": 1},
    ]
}


def notes(past: list[str], now: str) -> set[str]:
    history = [{"recipe": RECIPE, "report": {"feel": feel, "degree": "severe"}} for feel in past]
    asked: dict[str, Any] = {
        "recipe": RECIPE,
        "report": {"feel": now, "degree": "severe"},
        "history": history,
    }
    return {note.id for note in advisor.correct(asked).notes}


def test_alternating_verdicts_on_one_recipe_are_told() -> None:
    assert notes(["too_dry", "too_wet"] * 6, "too_wet") & {"doughs-contradict", "doughs-odd"}


def test_one_odd_verdict_is_told() -> None:
    assert "doughs-odd" in notes(["too_dry"] * 8, "too_wet")


def test_doughs_that_agree_are_not_doubted() -> None:
    assert not notes(["too_wet"] * 8, "too_wet") & {"doughs-contradict", "doughs-odd"}
