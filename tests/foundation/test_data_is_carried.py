"""Holds what is published against what is in the checkout: data, samples, versions."""

import json
import re
import tomllib
from fnmatch import fnmatch
from pathlib import Path
from typing import Any, NoReturn

import pytest

CARRIED = ("advisor", "api", "rules", "samples")


@pytest.fixture(scope="module")
def project(root: Path) -> dict[str, Any]:
    return tomllib.loads((root / "pyproject.toml").read_text(encoding="utf-8"))


@pytest.mark.parametrize(
    "name", ["figures.csv", "figures.toml", "figures.json", "figures.html", "figures.css"]
)
def test_no_data_file_is_ignored(root: Path, name: str) -> None:
    lines = (root / ".gitignore").read_text(encoding="utf-8").split()
    assert not [line for line in lines if fnmatch(name, line.rpartition("/")[2] or line)]


def test_the_wheel_carries_the_four_packages(project: dict[str, Any], root: Path) -> None:
    assert tuple(project["tool"]["hatch"]["build"]["targets"]["wheel"]["packages"]) == CARRIED
    assert not [name for name in CARRIED if not (root / name / "__init__.py").is_file()]


def test_every_sample_is_json_that_says_each_thing_once(root: Path) -> None:
    samples = sorted((root / "samples").rglob("*.json"))
    assert samples
    for sample in samples:
        json.loads(sample.read_text(encoding="utf-8"), object_pairs_hook=once, parse_constant=no_number)


def once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    names = [name for name, _ in pairs]
    assert len(names) == len(set(names)), names
    return dict(pairs)


def no_number(constant: str) -> NoReturn:
    raise AssertionError(f"{constant} is no number in JSON")


def test_the_dough_of_the_demo_is_a_sample(root: Path) -> None:
    named = re.search(r"^SAMPLE \?= (\S+)$", (root / "Makefile").read_text(encoding="utf-8"), re.MULTILINE)
    assert named
    assert (root / named[1]).is_file()


def test_the_changelog_has_an_entry_for_this_version(project: dict[str, Any], root: Path) -> None:
    version = re.escape(project["project"]["version"])
    assert re.search(
        rf"^## {version}\b.*\n+(### .*\n+)?- ",
        (root / "CHANGELOG.md").read_text(encoding="utf-8"),
        re.MULTILINE,
    )


def test_decisions_are_headed_by_date_and_in_order(root: Path) -> None:
    text = (root / "docs" / "decisions.md").read_text(encoding="utf-8")
    heads = re.findall(r"^## (.*)$", text, re.MULTILINE)
    dated = [re.match(r"(\d{4}-\d{2}-\d{2})\b.+", head) for head in heads]
    assert all(dated), heads
    dates = [match[1] for match in dated if match]
    assert dates == sorted(dates)
