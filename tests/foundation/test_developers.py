"""What DEVELOPERS.md says of files, rooms and the walk of a request is so."""

import json
import re
import sys
import tomllib
from pathlib import Path
from types import FrameType
from typing import Any

import pytest

import advisor

STEP = re.compile(r"^\| [^|]+ \| `([\w./]+\.py)` \| `(\w+)` \|$", re.MULTILINE)
NAMED = re.compile(r"`([\w.-]+(?:/[\w.-]+)*/?)`")
BELOW = ("", "advisor", "api", "api/page", "api/page/modules", "tests", "tests/rulebook")


@pytest.fixture(scope="module")
def text(root: Path) -> str:
    return (root / "DEVELOPERS.md").read_text(encoding="utf-8")


def test_every_file_it_names_is_there(text: str, root: Path) -> None:
    named = {
        one
        for one in NAMED.findall(text)
        if "/" in one and "*" not in one and not one.startswith("artefacts/")
    }
    assert len(named) > 30
    assert not [one for one in sorted(named) if not any((root / below / one).exists() for below in BELOW)]


def test_a_correction_takes_the_walk_that_is_told(text: str, root: Path) -> None:
    steps = STEP.findall(text)
    assert len(steps) >= 10
    for path, function in steps:
        assert f"def {function}(" in (root / path).read_text(encoding="utf-8"), (path, function)
    request = json.loads((root / "samples" / "wet-betaine-dough.json").read_text(encoding="utf-8"))
    assert walked(request, root, [step for step in steps if step[0].startswith("advisor/")])


def walked(request: dict[str, Any], root: Path, steps: list[tuple[str, str]]) -> bool:
    """Say whether a correction meets the functions, each first met after the one before it."""
    met: list[tuple[str, str]] = []

    def watch(frame: FrameType, event: str, _: object) -> None:
        path = Path(frame.f_code.co_filename)
        if event == "call" and path.is_relative_to(root):
            step = (path.relative_to(root).as_posix(), frame.f_code.co_name)
            if step in steps and step not in met:
                met.append(step)

    before = sys.getprofile()
    sys.setprofile(watch)
    try:
        advisor.correct(request)
    finally:
        sys.setprofile(before)
    assert met == steps
    return True


def test_the_picture_of_the_rooms_names_rooms_that_there_are(text: str, root: Path) -> None:
    picture = re.search(r"```mermaid\n(.*?)```", text, re.DOTALL)
    assert picture
    rooms = [
        room
        for found in re.findall(r'\["([^:"]+):', picture[1])
        for room in found.split(", ")
        if "a folder" not in room
    ]
    assert len(rooms) > 10
    assert not [room for room in rooms if not any((root / below / room).exists() for below in BELOW)]
    layers = tomllib.loads((root / "pyproject.toml").read_text(encoding="utf-8"))["tool"]["importlinter"][
        "contracts"
    ][0]["layers"]
    order = [room for layer in layers for room in layer.replace("|", ":").split(" : ")]
    drawn = ["cli", "sweeps", "printing", "correction", "case", "recipe", "rulebook", "schema"]
    assert [name for name in order if name in drawn] == drawn


def test_no_word_of_the_glossary_stands_twice(text: str) -> None:
    words = re.search(r"^## Words\n(.*?)^## ", text, re.DOTALL | re.MULTILINE)
    assert words
    found = re.findall(r"^\| ([^|]+) \| ", words[1], re.MULTILINE)
    assert len(found) > 15 and len(found) == len(set(found))
