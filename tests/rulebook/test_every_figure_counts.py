"""Every figure, field and sentence of rules/, and every setting, is read by the program."""

import ast
import inspect
import json
import re
import tomllib
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from pydantic import BaseModel

import advisor
from advisor.rulebook.load import Rulebook, load_rulebook
from advisor.rulebook.table import Table
from api.settings import Settings
from tests.answers.__main__ import CALLS, SAMPLES, index

ROOT = Path(advisor.__file__).resolve().parents[1]
CODE = [
    ast.parse(path.read_text(encoding="utf-8"))
    for room in ("advisor", "api")
    for path in (ROOT / room).rglob("*.py")
]
ATTRIBUTES = {node.attr for tree in CODE for node in ast.walk(tree) if isinstance(node, ast.Attribute)}
WORDS = {
    node.value
    for tree in CODE
    for node in ast.walk(tree)
    if isinstance(node, ast.Constant) and isinstance(node.value, str)
}

STEPS = {
    (node.value.attr, node.attr)
    for tree in CODE
    for node in ast.walk(tree)
    if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Attribute)
}
PATTERNS = [
    "".join(re.escape(str(part.value)) if isinstance(part, ast.Constant) else "(.+)" for part in node.values)
    for tree in CODE
    for node in ast.walk(tree)
    if isinstance(node, ast.JoinedStr)
]

# What a figure rests on is told where the figure is told or held by a test; an id names an entry in messages.
EVIDENCE = {"basis", "source", "id", "dated", "written", "verified_on"}
# Served as they are by the lists of feels, frames and levels.
SERVED = {"FeelRules", "DegreeRules", "SignRules", "BenchTest", "Frame", "Level"}
# Handed on field by field, by name; read where the handed-on one is.
HANDED_ON = {"LimitEntry", "ConditionEntry"}
# Read by the test that reckons the molar mass again.
READ_BY_TESTS = {("Substance", "formula")}
# Further requests, for what the samples do not come to.
DOUGH = {
    "isethionate-powder": 60.0,
    "kaolin": 9.0,
    "betaine-30": 25.0,
    "glycerin": 5.0,
    "sodium-benzoate": 1.0,
}
MILK_AND_ACID = {"milk-powder": 10, "lactic-acid-80": 4, "sodium-benzoate": 1, "betaine-30": 85}
SOUR = {"isethionate-powder": 60.0, "betaine-30": 38.0, "citric-acid": 1.0, "sodium-benzoate": 1.0}
COLOURED = {"isethionate-powder": 60.0, "kaolin": 9.9, "betaine-30": 30.0, "iron-oxide-black": 0.1}
NEEDLES_AND_GAS = {
    "coco-sulfate-needles": 60,
    "bicarbonate": 5,
    "citric-acid": 2,
    "betaine-30": 32,
    "bark": 1,
}
BARK = {
    "key": "bark",
    "name": "Bark",
    "form": "powder",
    "roles": ["filler"],
    "composition": {"Betula Alba Bark Powder": 100},
    "incompatible_with": ["anionic surfactants"],
}
LYE_AND_RELEASER = {"lye-10": 4, "dmdm-hydantoin-55": 1, "betaine-30": 95}


def recipe(parts: dict[str, float]) -> dict[str, Any]:
    return {"lines": [{"material": key, "percent": amount} for key, amount in parts.items()]}


FURTHER: list[tuple[Callable[..., Any], dict[str, Any]]] = [
    (advisor.assess, {"recipe": recipe(MILK_AND_ACID), "wishes": {"market": "ca"}, "ph": 5.0}),
    (advisor.assess, {"recipe": recipe(NEEDLES_AND_GAS), "materials": [BARK]}),
    (advisor.label, {"recipe": recipe(MILK_AND_ACID), "market": "eu"}),
    (advisor.label, {"recipe": recipe(LYE_AND_RELEASER), "market": "eu"}),
    *(
        (
            advisor.dose,
            {
                "first_ph": 7.0,
                "dose": trial,
                "second_ph": 6.0,
                "target_ph": 4.8,
                "test_percent": 10,
                "test_dough_grams": 100,
                "material": "citric-acid",
                "unit": unit,
                "recipe": recipe(SOUR),
            },
        )
        for unit, trial in (("grams", 0.4), ("millilitres", 0.4), ("drops", 8))
    ),
    (
        advisor.dose,
        {
            "first_ph": 4.0,
            "dose": 2.0,
            "second_ph": 4.6,
            "target_ph": 5.2,
            "test_percent": 10,
            "test_dough_grams": 100,
            "material": "lye-20",
        },
    ),
    (
        advisor.weigh,
        {"recipe": recipe(COLOURED), "batch_grams": 2000, "balance_step": 1.0, "method": "mixer"},
    ),
    *(
        (
            advisor.recover,
            {
                "recipe": recipe(parts),
                "batch_grams": 100,
                "mixed": True,
                "balance_step": 0.01,
                "weighed": {**parts, "citric-acid": 3.0},
                "shelf": ["bicarbonate"],
                "ph": 3.5,
            },
        )
        for parts in (SOUR, {"kaolin": 70.0, "betaine-30": 29.0, "citric-acid": 1.0})
    ),
    (advisor.substitute, {"recipe": recipe(DOUGH), "missing": "kaolin", "replacements": ["sorbitol-powder"]}),
    (advisor.substitute, {"recipe": recipe(DOUGH), "missing": "kaolin", "replacements": ["oat-flour"]}),
    (
        advisor.substitute,
        {
            "recipe": recipe(DOUGH),
            "missing": "sodium-benzoate",
            "shelf": ["potassium-sorbate", "phenoxyethanol-blend"],
        },
    ),
]


def shapes(of: type[BaseModel]) -> Iterator[type[BaseModel]]:
    for shape in of.__subclasses__():
        yield shape
        yield from shapes(shape)


def fields() -> set[tuple[str, str]]:
    """Return every field of a table of the rules, under the shape that brings it in."""
    return {
        (shape.__name__, name)
        for shape in shapes(Table)
        if shape.__module__.startswith("advisor.")
        for name in shape.model_fields
        if name in inspect.get_annotations(shape)
    }


def read_in_answers(patched: pytest.MonkeyPatch) -> set[tuple[str, str]]:
    """Return the fields that were read while the rules were loaded and the samples answered."""
    seen: set[tuple[str, str]] = set()
    plain = Table.__getattribute__

    def watched(table: Table, name: str) -> Any:
        if name in type(table).model_fields:
            seen.update((shape.__name__, name) for shape in type(table).__mro__)
        return plain(table, name)

    patched.setattr(Table, "__getattribute__", watched)
    rulebook = load_rulebook(ROOT / "rules")
    for sample, entry in index().items():
        body = json.loads((SAMPLES / f"{sample}.json").read_text(encoding="utf-8"))
        ask(CALLS[entry["call"]].function, body, rulebook)
    for task, body in FURTHER:
        ask(task, body, rulebook)
    return seen


def ask(task: Callable[..., Any], body: dict[str, Any], rulebook: Rulebook) -> None:
    try:
        task(body, rulebook=rulebook)
    except advisor.AdvisorError as error:
        assert error.code in ("no-recipe-fits", "invalid-recipe"), error


def test_every_field_of_the_rules_is_read(monkeypatch: pytest.MonkeyPatch) -> None:
    seen = read_in_answers(monkeypatch)
    names = [name for _, name in fields()]
    places: dict[str, list[str]] = {}
    for of in shapes(Table):
        for name, field in of.model_fields.items():
            places.setdefault(getattr(field.annotation, "__name__", ""), []).append(name)
    unread = {
        (shape, name)
        for shape, name in fields() - seen - READ_BY_TESTS
        if name not in EVIDENCE
        and shape not in SERVED
        and not (shape in HANDED_ON and name in ATTRIBUTES)
        and not any((place, name) in STEPS for place in places.get(shape, ()))
        # A name that one shape alone has is read where it is written as an attribute.
        and not (names.count(name) == 1 and name in ATTRIBUTES)
    }
    assert not unread, sorted(unread)


def texts(table: Any, place: str = "") -> Iterator[tuple[str, str]]:
    for name, value in table.items():
        if isinstance(value, dict):
            yield from texts(value, f"{place}{name}.")
        elif place.endswith("text."):
            yield place, name


@pytest.mark.parametrize("path", sorted((ROOT / "rules").glob("*.toml")), ids=lambda path: path.stem)
def test_every_sentence_is_told(path: Path) -> None:
    keys = [name for _, name in texts(tomllib.loads(path.read_text(encoding="utf-8")))]
    assert [key for key in keys if not named(key)] == []


def named(key: str) -> bool:
    """Tell whether the program names a sentence: as a word, with hyphens, or put together from words."""
    if not WORDS.isdisjoint((key, key.replace("_", "-"))):
        return True
    matches = (re.fullmatch(pattern, key) for pattern in PATTERNS)
    return any(match and WORDS.issuperset(match.groups()) for match in matches)


def test_every_setting_is_read() -> None:
    names = Settings.model_fields if issubclass(Settings, BaseModel) else Settings.__dataclass_fields__
    assert [name for name in names if name not in ATTRIBUTES] == []
