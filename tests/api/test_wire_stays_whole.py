"""What the last release took and answered is still taken and answered: paths, fields, words."""

from pathlib import Path
from typing import Any

import pytest
from fastapi import FastAPI

from helpers.wire import Wire, unpacked, wire

RELEASED = unpacked((Path(__file__).parent / "wire-0.1.0.json").read_text())


@pytest.fixture(scope="module")
def now(app: FastAPI) -> Wire:
    return wire(app.openapi())


@pytest.mark.parametrize("operation", RELEASED)
def test_nothing_is_gone(now: Wire, operation: str) -> None:
    before, after = RELEASED[operation], now[operation]
    for part, fields in before.items():
        if part == "needed":
            new = set(after["needed"]) - set(fields)
            assert not {place for place in new if place in before["sent application/json"]}, (operation, new)
            assert all(place.count("/") > 1 for place in new), (operation, new)
            continue
        gone = [place for place in fields if place not in after.get(part, {})]
        assert not gone, (operation, part, gone)
        for place, words in fields.items():
            lost = set(words) - set(after[part][place])
            assert not lost, (operation, part, place, lost)


def test_the_check_sees_what_is_gone() -> None:
    name = "POST /v1/corrections"
    shortened: dict[str, Any] = {
        k: v for k, v in RELEASED[name]["sent application/json"].items() if k != "/shelf"
    }
    with pytest.raises(AssertionError, match="/shelf"):
        test_nothing_is_gone({**RELEASED, name: {**RELEASED[name], "sent application/json": shortened}}, name)
