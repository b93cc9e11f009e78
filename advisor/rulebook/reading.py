"""Reading fields out of rules tables, with messages that name file and entry."""

from collections.abc import Mapping, Sequence
from typing import Any

from advisor.errors import RulesError

Table = Mapping[str, Any]


def entries(table: Table, kind: str, file: str) -> Sequence[Table]:
    """Return the list of tables under ``kind``; absent is empty."""
    value = table.get(kind, [])
    if not isinstance(value, list) or not all(isinstance(entry, Mapping) for entry in value):
        raise RulesError(f"{file}: {kind} must be a list of tables")
    return value


def known(entry: Table, fields: str, file: str, name: str) -> None:
    """Refuse fields that are not among the words of ``fields``."""
    unknown = sorted(set(entry) - set(fields.split()))
    if unknown:
        raise RulesError(f"{file}: {name}: unknown field {unknown[0]}")


def text(entry: Table, field: str, file: str, name: str) -> str:
    """Return a text that is not blank.

    Examples
    --------
    >>> text({"id": "phenoxyethanol"}, "id", "eu.toml", "a limit")
    'phenoxyethanol'
    """
    value = entry.get(field)
    if not isinstance(value, str) or not value.strip():
        raise RulesError(f"{file}: {name}: needs {field}, a text")
    return value


def number(entry: Table, field: str, file: str, name: str, *, zero: bool = False) -> float:
    """Return a finite number above 0, or from 0 where ``zero`` is true."""
    value = entry.get(field)
    if isinstance(value, bool) or not isinstance(value, int | float) or not 0 <= value < float("inf"):
        raise RulesError(f"{file}: {name}: needs {field}, a number from 0")
    if value == 0 and not zero:
        raise RulesError(f"{file}: {name}: {field} must be above 0")
    return float(value)


def names(entry: Table, field: str, file: str, name: str) -> tuple[str, ...]:
    """Return a list of texts that is not empty."""
    value = entry.get(field)
    if not isinstance(value, list) or not value or not all(isinstance(item, str) for item in value):
        raise RulesError(f"{file}: {name}: needs {field}, a list of names")
    return tuple(value)


def distinct(keys: Sequence[str], file: str) -> None:
    """Refuse a key that stands twice."""
    for key in keys:
        if keys.count(key) > 1:
            raise RulesError(f"{file}: {key} stands twice")
