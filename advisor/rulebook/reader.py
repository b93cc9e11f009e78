"""Reads the files of rules/ into their shapes, with messages that name file and entry."""

import datetime
from collections.abc import Collection, Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any, TypeVar

from pydantic import BaseModel, TypeAdapter, ValidationError

from advisor.errors import RulesError

Shape = TypeVar("Shape", bound=BaseModel)
Parsed = Mapping[str, Mapping[str, Any]]
Words = Mapping[str, Collection[str]]
_NAMING = ("id", "name")


def texts_of(folder: Path) -> dict[str, str]:
    """Return the text of every rules file, by its path within the folder."""
    paths = sorted(path for path in folder.rglob("*") if path.suffix in (".toml", ".csv"))
    return {path.relative_to(folder).as_posix(): path.read_text(encoding="utf-8") for path in paths}


def parsed(name: str, text: str) -> Mapping[str, Any]:
    """Return a rules file as a table.

    Raises
    ------
    RulesError
        It is no TOML.
    """
    import tomllib

    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise RulesError(f"rules/{name} is not TOML: {error}") from error


def shaped(shape: type[Shape], name: str, tables: Parsed, words: Words | None = None) -> Shape:
    """Return a file in its shape; ``words`` are what feels and signs it may name.

    Raises
    ------
    RulesError
        The file is missing, a field is missing, unknown or wrong, or an entry stands twice.
    """
    if name not in tables:
        raise RulesError(f"rules/{name} is missing")
    return entry_in_shape(shape, tables[name], f"rules/{name}", words)


def entry_in_shape(shape: type[Shape], entry: Any, where: str, words: Words | None = None) -> Shape:
    """Return one table in its shape; ``where`` names it in messages.

    Raises
    ------
    RulesError
        A field is missing, unknown or wrong, or an entry stands twice.

    Examples
    --------
    >>> from advisor.rulebook.table import Edition
    >>> entry_in_shape(Edition, {"edition": "latest"}, "rules/edition.toml")
    Traceback (most recent call last):
    advisor.errors.RulesError: rules/edition.toml: edition: String should match pattern ...
    """
    try:
        read = shape.model_validate(entry, context={"words": words or {}})
    except ValidationError as error:
        faults = (f"{_named(entry, fault['loc'])}: {fault['msg']}" for fault in error.errors())
        raise RulesError(f"{where}: {'; '.join(faults)}") from error
    for twice in _twice(entry):
        raise RulesError(f"{where}: {twice} stands twice")
    return read


def rows_of(shape: type[Shape], name: str, text: str) -> tuple[Shape, ...]:
    """Return the rows of a CSV file in their shape; an empty cell is absent.

    Raises
    ------
    RulesError
        A column is unknown, or a cell missing or wrong; the row is named by its id or entry.
    """
    import csv

    written = [
        {column: cell for column, cell in row.items() if cell} for row in csv.DictReader(text.splitlines())
    ]
    try:
        return TypeAdapter(tuple[shape, ...]).validate_python(written)  # type: ignore[valid-type]
    except ValidationError as error:
        fault = error.errors()[0]
        row = written[int(fault["loc"][0])]
        place = ".".join(map(str, fault["loc"][1:]))
        raise RulesError(
            f"rules/{name}: {row.get('id', row.get('entry', fault['loc'][0]))}.{place}: {fault['msg']}"
        ) from error


def _named(entry: Any, place: Sequence[int | str]) -> str:
    """Return a place with the id or name of an entry instead of its number in a list."""
    words = []
    at: Any = entry
    for step in place:
        listed = isinstance(step, int) and isinstance(at, list) and step < len(at)
        inside = isinstance(at, Mapping) and step in at
        at = at[step] if listed or inside else None
        names = [at[word] for word in _NAMING if word in at] if listed and isinstance(at, Mapping) else []
        words.append(str(names[0] if names else step))
    return ".".join(words) or "entry"


def _twice(entry: Mapping[str, Any]) -> Iterable[str]:
    """Yield the id of a table that stands in one list of the file with another of the same id."""
    for value in entry.values():
        tables = value if isinstance(value, list) else []
        ids = [one["id"] for one in tables if isinstance(one, Mapping) and "id" in one]
        if len(ids) > len(set(ids)):
            yield next(one for one in ids if ids.count(one) > 1)


def written_day(day: datetime.date | None) -> str:
    """Return when a source was read, in words.

    Examples
    --------
    >>> written_day(datetime.date(2026, 11, 1)), written_day(None)
    ('read 2026-11-01', '')
    """
    return "" if day is None else f"read {day}"
