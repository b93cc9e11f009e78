"""A material's name comes whole into every sentence, whatever stands in it."""

from typing import Any

import pytest

import advisor
from helpers import swap_judge

NAMES = ("Clay", "Clay: white", "Clay usual range", "Clay at most", "Clay of the dried bar")
LINES = {"isethionate-powder": 48.0, "betaine-30": 18.0, "tapioca-starch": 8.0, "glycerin": 4.0}


def asked(name: str, percent: float, **use: float) -> dict[str, Any]:
    fields = ("form", "fineness", "roles", "composition", "uptake")
    clay = {field: swap_judge.library()["kaolin"][field] for field in fields}
    lines = {**LINES, "clay": percent, "water": 100 - sum(LINES.values()) - percent}
    return {
        "recipe": {"lines": [{"material": key, "percent": one} for key, one in lines.items()]},
        "materials": [{**clay, "key": "clay", "name": name, "use": use}],
    }


@pytest.mark.parametrize("use", [{"max": 5.0}, {"min": 15.0}, {"min": 1.0, "max": 5.0}])
@pytest.mark.parametrize("name", NAMES)
def test_what_lies_outside_its_usual_range_is_told_by_its_name(name: str, use: dict[str, float]) -> None:
    findings = advisor.assess(asked(name, 10.0, **use)).findings
    told = next(one.text for one in findings if one.id == "usual:clay")
    assert told.startswith(f"{name}: 10 %, where ")


@pytest.mark.parametrize("band", [{"max": 5.0}, {"min": 12.0}])
@pytest.mark.parametrize("name", NAMES)
def test_a_wish_that_is_missed_is_told_by_its_name(name: str, band: dict[str, float]) -> None:
    body = {**asked(name, 10.0), "wishes": {"lines": {"clay": band}}}
    told = next(one.text for one in advisor.assess(body).findings if one.id.startswith("wish:"))
    assert told.startswith(f"{name}: 10 %")
