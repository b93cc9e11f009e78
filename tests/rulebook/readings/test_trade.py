"""The figures of the trade and of the model against a second reading of the texts they were taken from.

trade.txt and drafts.txt hold what those texts say: published figures, common practice, and first guesses, which a
second reading keeps from slips but makes no truer. Lists of words are read for those that must be in them.
"""

import re
import tomllib
from functools import cache
from pathlib import Path
from typing import Any

import pytest

import rules

RULES = Path(rules.__file__).parent
HERE = Path(__file__).parent
# The order of foam from most to least, judged here: 5 is a sulfate, 1 next to nothing.
FOAM = {
    5.0: "Sodium Lauryl Sulfate, Sodium Coco-Sulfate, Sodium C14-16 Olefin Sulfonate, Sodium Laureth Sulfate",
    4.5: "Sodium Lauryl Sulfoacetate",
    4.0: "Sodium Cocoyl Isethionate, Sodium Lauroyl Isethionate, Sodium Lauroyl Methyl Isethionate, "
    "Sodium Cocoyl Glycinate, Sodium Lauroyl Sarcosinate, Sodium Cocoyl Sarcosinate, Sodium Methyl Cocoyl Taurate, "
    "Lauramine Oxide, Sodium Palm Kernelate",
    3.5: "Disodium Lauryl Sulfosuccinate, Disodium Laureth Sulfosuccinate, Cocamidopropyl Betaine, "
    "Cocamidopropyl Hydroxysultaine, Coco-Betaine, Sodium Lauroyl Glutamate",
    3.0: "Sodium Cocoyl Alaninate, Sodium Cocoamphoacetate, Decyl Glucoside, Sodium Palmate",
    2.5: "Coco-Glucoside, Lauryl Glucoside, Disodium Cocoamphodiacetate, Sodium Cocoyl Glutamate, "
    "Disodium Cocoyl Glutamate",
    2.0: "Caprylyl/Capryl Glucoside, Sodium Lauroyl Lactylate, Cocamide MEA",
    1.5: "Polyglyceryl-10 Laurate",
    1.0: "PEG-7 Glyceryl Cocoate, Sodium Stearoyl Lactylate, Sodium Stearate",
}
LINE = re.compile(r"(?P<file>[\w/]+): (?P<place>.+?) = (?P<said>.+)")
STEP = re.compile(r"([\w-]+)(?:\[([^\]]+)\])?(?:\.|$)")


def lines(name: str) -> list[str]:
    text = (HERE / name).read_text(encoding="utf-8")
    return [line for line in text.splitlines() if line and not line.startswith("#")]


def called(entry: dict[str, Any]) -> set[str]:
    return {entry[field] for field in ("id", "name", "component") if field in entry} | set(
        entry.get("components", ())[:1]
    )


@cache
def parsed(file: str) -> dict[str, Any]:
    return tomllib.loads((RULES / f"{file}.toml").read_text(encoding="utf-8"))


def found(file: str, place: str) -> list[Any]:
    """Return the figures of a place; names after the first stand beside it."""
    table: Any = parsed(file)
    first, *beside = place.split(" ") if "[" not in place else re.split(r" (?![^\[]*\])", place)
    steps = STEP.findall(first)
    for name, which in steps[:-1]:
        table = table[name]
        if which:
            table = next(entry for entry in table if which in called(entry))
    return [table[name] for name in (steps[-1][0], *beside)]


@pytest.mark.parametrize("line", lines("trade.txt"))
def test_a_figure_is_the_one_that_was_read(line: str) -> None:
    match = LINE.fullmatch(line)
    assert match, line
    values: list[Any] = []
    for value in found(match["file"], match["place"]):
        values += value if isinstance(value, list) else [value]
    assert values, match["place"]
    said = [part.strip() for part in re.split(r", (?=[^,]*)", match["said"])]
    if isinstance(values[0], str):
        assert set(said) <= set(values), set(said) - set(values)
    else:
        assert values == pytest.approx([float(part) for part in said])


@pytest.mark.parametrize("line", lines("drafts.txt"), ids=lambda line: line.split(" |")[0])
def test_a_family_is_built_as_it_was_read(line: str) -> None:
    family, *parts = line.split(" | ")
    drafts = tomllib.loads((RULES / "drafts.toml").read_text(encoding="utf-8"))
    block = next(one for one in drafts["family"] if one["id"] == family)
    ranges = {part["name"]: part for part in block["part"]}
    ranges |= {"s": block["active"], "l": block["liquid_to_powder"]}
    for part in parts:
        name, _, span = part.rpartition(" ")
        low, high = map(float, span.split("-"))
        assert (ranges[name]["min"], ranges[name]["max"]) == (low, high), name
    assert len(parts) == len(block["part"]) + 2


def test_foam_has_its_order() -> None:
    rank = tomllib.loads((RULES / "substitution.toml").read_text(encoding="utf-8"))["foam"]["rank"]
    assert rank == {name: value for value, names in FOAM.items() for name in names.split(", ")}


def test_every_feel_has_a_place_of_its_own() -> None:
    feels = tomllib.loads((RULES / "feels.toml").read_text(encoding="utf-8"))["feel"]
    assert sorted(feel["order"] for feel in feels.values()) == list(range(1, len(feels) + 1))
