"""What the command line lists: materials, doughs, and what stands in the rules behind an id."""

import csv
import io
import json
import tomllib
from collections.abc import Iterator, Mapping
from importlib.resources import files
from typing import Any

from advisor.errors import InvalidRequest
from advisor.printing.document import Block, Document, Facts, Sentences, Table
from advisor.printing.told import Told
from advisor.recipe.notebook import Notebook
from advisor.rulebook.load import load_rulebook

_NAMED_BY = ("id", "key", "name")
_UNTOLD = ("title", "text")


def materials(words: list[str], notebook: Notebook | None) -> Document:
    """Return the materials whose names hold every word, the shop's own among them."""
    rules = load_rulebook()
    known = {**rules.ingredients, **(notebook.materials if notebook is not None else {})}
    wanted = [word.casefold() for word in words]
    rows = []
    for key, one in sorted(known.items()):
        material = one.material
        names = " ".join((key, material.name, *material.also, *material.composition)).casefold()
        if all(word in names for word in wanted):
            active = (
                f"{material.active if isinstance(material.active, int | float) else one.active * 100:g} %"
            )
            rows.append((material.name, key, material.form.replace("_", " "), active))
    if not rows:
        near = ", ".join(rules.nearest_keys(" ".join(words), known))
        raise InvalidRequest(f"No material is called so. Near it: {near}.")
    table = Table("", ("Material", "key", "form", "active"), tuple(rows), numeric=frozenset({3}))
    return Document(f"{len(rows)} materials", (table,), "dough-advisor explain KEY")


def doughs(kept: list[Any], notebook: Notebook | None) -> Document:
    """Return the doughs of the notebook, newest first."""
    if not kept:
        return Document("No dough is kept yet", (), "dough-advisor serve")
    rows = []
    for one in kept:
        body = json.loads(one.body)
        told = Told(body, notebook=notebook)
        rows.append((one.id, body.get("made_on", ""), told.head))
    return Document(f"{len(rows)} doughs", (Table("", ("Id", "made on", "dough"), tuple(rows)),))


def explain(name: str) -> Document:
    """Return every entry of the rules that an id names: its sentence, figures, basis, source and date.

    Raises
    ------
    InvalidRequest
        The rules hold nothing of that name.
    """
    found = [entry for entry in _entries() if _matches(entry, name)]
    if not found:
        raise InvalidRequest(f"The rules hold nothing called {name!r}. Answers name ids with --json.")
    sources = _toml(files("rules").joinpath("sources.toml"))
    blocks = [block for place, _, entry in found for block in _told(place, entry, sources)]
    return Document(name, tuple(blocks))


def _entries() -> Iterator[tuple[str, str, Mapping[str, Any]]]:
    """Yield place, name and fields of every table of the rules, the innermost ones apart."""
    yield from _under(files("rules"), "rules")


def _under(folder: Any, place: str) -> Iterator[tuple[str, str, Mapping[str, Any]]]:
    for one in sorted(folder.iterdir(), key=lambda one: str(one.name)):
        if one.is_dir():
            yield from _under(one, f"{place}/{one.name}")
        elif one.name.endswith(".toml"):
            yield from _tables(f"{place}/{one.name}", "", _toml(one))
        elif one.name.endswith(".csv"):
            for row in csv.DictReader(io.StringIO(one.read_text(encoding="utf-8"))):
                yield f"{place}/{one.name}", "", {name: value for name, value in row.items() if value}


def _toml(file: Any) -> Mapping[str, Any]:
    return tomllib.loads(file.read_text(encoding="utf-8"))


def _tables(place: str, name: str, value: Any) -> Iterator[tuple[str, str, Mapping[str, Any]]]:
    if isinstance(value, list):
        for one in value:
            yield from _tables(place, name, one)
    elif isinstance(value, Mapping):
        yield place, name, value
        for inner, one in value.items():
            yield from _tables(place, inner, one)


def _matches(entry: tuple[str, str, Mapping[str, Any]], name: str) -> bool:
    _, called, fields = entry
    wanted = name.removeprefix("pair:").casefold()
    own = (str(fields.get(field, "")) for field in _NAMED_BY)
    plain = any(not isinstance(value, dict | list) for value in fields.values())
    return plain and wanted in {one.casefold() for one in (called, called.replace("_", "-"), *own)}


def _told(place: str, entry: Mapping[str, Any], sources: Mapping[str, Any]) -> Iterator[Block]:
    yield Sentences("", tuple(str(entry[name]) for name in _UNTOLD if isinstance(entry.get(name), str)))
    pairs = [
        (name.replace("_", " "), _written(value)) for name, value in entry.items() if name not in _UNTOLD
    ]
    source = sources.get(str(entry.get("source")))
    if isinstance(source, Mapping):
        pairs += [
            (f"source, {name}", str(source[name])) for name in ("title", "place", "read") if name in source
        ]
    yield Facts((*pairs, ("stands in", place)))


def _written(value: Any) -> str:
    if isinstance(value, Mapping):
        return "; ".join(f"{name} {_written(inner)}" for name, inner in value.items())
    if isinstance(value, list):
        return ", ".join(map(_written, value))
    return str(value)
