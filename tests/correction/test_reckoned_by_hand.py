"""Golden corrections: the sum by hand stands beside each in reckoned_by_hand.toml."""

import tomllib
from pathlib import Path
from typing import Any

import pytest

import advisor

CASES = tomllib.loads(Path(__file__).with_name("reckoned_by_hand.toml").read_text(encoding="utf-8"))


def materials(use: dict[str, Any]) -> list[dict[str, Any]]:
    powder = {"form": "powder", "roles": ["filler"]}
    made = [
        {"key": "powder-p", "name": "P", "composition": {"P": 100}, "uptake": 0.5, **powder},
        {"key": "powder-q", "name": "Q", "composition": {"Q": 100}, "uptake": 0.25, **powder},
        {
            "key": "liquid",
            "name": "L",
            "form": "liquid",
            "roles": ["water"],
            "composition": {"Aqua": 100},
            "wetting": 1.0,
        },
    ]
    return [one | ({"use": use[one["key"]]} if one["key"] in use else {}) for one in made]


@pytest.mark.parametrize("name", CASES)
def test_golden_correction(name: str) -> None:
    case = CASES[name]
    answer = advisor.correct(
        {
            "recipe": {"lines": [{"material": key, "percent": p} for key, p in case["recipe"].items()]},
            "report": case["report"],
            "wishes": case.get("wishes"),
            "materials": materials(case.get("use", {})),
        }
    )
    assert {line.material: line.percent for line in answer.recipe.lines} == case["after"]
