"""What stands in the rules behind an id of an answer: its sentence, figures, basis, source and date."""

import csv
import io
import tomllib
from collections.abc import Iterator, Mapping
from functools import cache
from importlib.resources import files
from typing import Any, NamedTuple

from advisor.errors import InvalidRequest
from advisor.printing.document import Block, Document, Facts, Sentences
from advisor.rulebook.naming import as_typed

_NAMED_BY = ("id", "key", "name", "component", "components", "market", "title")
_UNTOLD = ("title", "text")
_CITED = ("basis", "source")


class Entry(NamedTuple):
    """A table of the rules, or one sentence of a table with what the table rests on."""

    place: str
    names: frozenset[str]
    fields: Mapping[str, Any]


def explain(name: str) -> Document:
    """Return every entry of the rules that an id names, or that the parts of the id name.

    Raises
    ------
    InvalidRequest
        The rules hold nothing of that name.
    """
    found = _found(_plain(name.removeprefix("pair:")))
    if not found:
        raise InvalidRequest(f"The rules hold nothing called {name!r}. Answers name ids with --keys.")
    if name.startswith("law:"):
        found = [entry for entry in found if entry.place.startswith("rules/law/")] or found
    sources = _toml(files("rules").joinpath("sources.toml"))
    return Document(name, tuple(block for entry in found for block in _told(entry, sources)))


def _found(name: str) -> list[Entry]:
    """Return what a name stands for: the whole of it, else its parts, the longest that are known."""
    if whole := _known(name):
        return whole
    for mark in (":", ",-"):
        if mark in name:
            return [entry for part in name.split(mark) for entry in _found(part)]
    words = name.split("-")
    cuts = range(len(words) - 1, 0, -1)
    heads = next((some for cut in cuts if (some := _known("-".join(words[:cut])))), [])
    tails = next((some for cut in reversed(cuts) if (some := _known("-".join(words[cut:])))), [])
    return [entry for entry in heads if entry in tails] or [*heads, *tails]


def _known(name: str) -> list[Entry]:
    return [entry for entry in _entries() if name in entry.names]


@cache
def _entries() -> tuple[Entry, ...]:
    """Return every table of the rules, the innermost ones apart, and every sentence in them."""
    return tuple(_under(files("rules"), "rules"))


def _under(folder: Any, place: str) -> Iterator[Entry]:
    head = folder.joinpath("market.toml")
    law = {name: _toml(head)[name] for name in ("source", "text_of")} if head.is_file() else {}
    for one in sorted(folder.iterdir(), key=lambda one: str(one.name)):
        if one.is_dir():
            yield from _under(one, f"{place}/{one.name}")
        elif one.name.endswith(".toml"):
            yield from _tables(f"{place}/{one.name}", "", _toml(one), law)
        elif one.name.endswith(".csv"):
            for row in csv.DictReader(io.StringIO(one.read_text(encoding="utf-8"))):
                told = {name: value for name, value in row.items() if value}
                yield _entry(f"{place}/{one.name}", "", {**told, **law})


def _toml(file: Any) -> Mapping[str, Any]:
    return tomllib.loads(file.read_text(encoding="utf-8"))


def _tables(place: str, name: str, value: Any, cited: Mapping[str, Any]) -> Iterator[Entry]:
    if isinstance(value, list):
        for one in value:
            yield from _tables(place, name, one, cited)
    elif isinstance(value, Mapping):
        rests_on = {**cited, **{field: value[field] for field in _CITED if field in value}}
        if any(not isinstance(one, Mapping | list) for one in value.values()):
            yield _entry(place, name, {**({} if "source" in value else cited), **value})
        for inner, one in value.items():
            if isinstance(one, str) and one.endswith((".", "?")) and inner not in (*_UNTOLD, *_CITED):
                yield _entry(place, inner, {"text": one, **rests_on})
            yield from _tables(place, inner, one, rests_on)


def _entry(place: str, name: str, fields: Mapping[str, Any]) -> Entry:
    """Return an entry with every name it goes by: its own, its ids, its short name, its components."""
    names = [name, str(fields.get("name", "")).split(",")[0]]
    for field in _NAMED_BY:
        own = fields.get(field, "")
        names += map(str, own) if isinstance(own, list) else str(own).split(" | ")
    return Entry(place, frozenset(map(_plain, filter(None, names))), fields)


def _plain(name: str) -> str:
    return as_typed(name.replace("_", "-")).replace(" ", "-")


def _told(entry: Entry, sources: Mapping[str, Any]) -> Iterator[Block]:
    fields = entry.fields
    yield Sentences("", tuple(str(fields[name]) for name in _UNTOLD if isinstance(fields.get(name), str)))
    pairs = [
        (name.replace("_", " "), _written(value)) for name, value in fields.items() if name not in _UNTOLD
    ]
    source = sources.get(str(fields.get("source")))
    if isinstance(source, Mapping):
        pairs += [
            (f"source, {name}", str(source[name])) for name in ("title", "place", "read") if name in source
        ]
    yield Facts((*pairs, ("stands in", entry.place)))


def _written(value: Any) -> str:
    if isinstance(value, Mapping):
        return "; ".join(f"{name} {_written(inner)}" for name, inner in value.items())
    return ", ".join(map(_written, value)) if isinstance(value, list) else str(value)
