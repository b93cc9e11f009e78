"""Every id and every demand that an answer names is explained from the rules."""

import ast
import json
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

import advisor
from advisor.cli.explaining import explain
from advisor.cli.main import main
from advisor.printing.document import Facts, Sentences
from advisor.rulebook.load import load_rulebook
from tests.helpers.ordinary import RECIPES

ROOT = Path(advisor.__file__).resolve().parents[1]
ANSWERS = sorted((ROOT / "samples" / "answers").glob("*.json"))
SAID = {"TextItem", "Caution", "Finding", "Watched"}


def named(value: Any) -> Iterator[str]:
    """Yield the ids of sentences and the names of demands in an answer."""
    if isinstance(value, dict):
        if isinstance(value.get("id"), str) and "text" in value:
            yield value["id"]
        if "binding" in value or "demand" in value:
            yield value.get("name") or value["demand"]
        for inner in value.values():
            yield from named(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from named(inner)


def told(name: str) -> str:
    blocks = explain(name).blocks
    assert any(isinstance(block, Sentences | Facts) for block in blocks)
    return repr(blocks)


def test_every_id_of_the_samples_is_explained() -> None:
    names = {name for file in ANSWERS for name in named(json.loads(file.read_text(encoding="utf-8")))}
    assert len(names) > 150
    assert all("stands in" in told(name) for name in names)


def test_every_id_of_ordinary_recipes_is_explained() -> None:
    names = set()
    for one in RECIPES:
        answer = advisor.assess({"recipe": one.recipe(), "wishes": {"market": "eu"}, "ph": 5.5})
        names |= set(named(answer.model_dump(mode="json")))
    assert all("rules/" in told(name) for name in names)


def test_every_id_written_in_the_program_is_explained() -> None:
    found = set()
    for path in (ROOT / "advisor").rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in SAID:
                ids = [word.value for word in node.keywords if word.arg == "id"] or node.args[:1]
                found |= {one.value for one in ids if isinstance(one, ast.Constant)}
    assert found
    assert all("rules/" in told(str(name)) for name in found), "tell it in rules/demands.toml"


def test_cautions_pairs_and_limits_are_explained() -> None:
    rules = load_rulebook()
    for name in (
        *(one.id for one in rules.cautions.caution),
        *(f"pair:{one.id}" for one in rules.stated.pair),
        *(one.id for one in rules.findings.dough),
    ):
        assert "source" in told(name)


def test_a_limit_names_its_law_and_the_date_of_its_text() -> None:
    head = load_rulebook().laws["eu"].head
    said = told("law:phenoxyethanol:as_dried")
    assert head.source in said and str(head.text_of) in said and "Annex V, 29" in said


def test_what_demands_mean_rests_on_something() -> None:
    entries = tomllib.loads((ROOT / "rules" / "demands.toml").read_text(encoding="utf-8"))["demand"]
    assert len({one["name"] for one in entries}) == len(entries)
    for one in entries:
        assert one["text"].endswith(".") and one["basis"] in ("practice", "estimate") and one["source"]


def test_what_is_called_nothing_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["explain", "no-such-thing"]) == 2
    assert "nothing called" in capsys.readouterr().err


def test_an_id_of_a_limit_tells_the_law_and_nothing_else() -> None:
    blocks = [block for block in explain("law:phenoxyethanol:as_dried").blocks if isinstance(block, Facts)]
    places = [dict(block.pairs)["stands in"] for block in blocks]
    assert places
    assert all(place.startswith("rules/law/") for place in places)
