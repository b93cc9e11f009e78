"""Checksums of the large tables of the rules, their figures and names: ``python -m tests.rulebook.checksums``."""

import hashlib
import json
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import rules

RULES = Path(rules.__file__).parent
KEPT = Path(__file__).with_name("checksums.toml")
# Sentences are free to better; figures, names and words of the interface are not.
_TABLES = ("law/", "materials/", "substances", "label", "frames", "assessed")
_SENTENCES = {"text", "notes", "meaning", "source", "title", "place", "about", "caveat"}


def checksums() -> dict[str, str]:
    """Return the digest of each table, its sentences aside."""
    found = {}
    for path in sorted(RULES.rglob("*")):
        if path.suffix not in (".toml", ".csv") or not path.relative_to(RULES).as_posix().startswith(_TABLES):
            continue
        text = path.read_text(encoding="utf-8")
        said = text if path.suffix == ".csv" else json.dumps(list(_figures(tomllib.loads(text))), default=str)
        found[path.relative_to(RULES).as_posix()] = hashlib.sha256(said.encode()).hexdigest()[:16]
    return found


def _figures(table: Any, place: str = "") -> Iterator[tuple[str, Any]]:
    if isinstance(table, dict):
        for name, value in table.items():
            if name not in _SENTENCES:
                yield from _figures(value, f"{place}.{name}")
    elif isinstance(table, list):
        for number, value in enumerate(table):
            yield from _figures(value, f"{place}[{number}]")
    else:
        yield place, table


def main() -> None:
    """Write the checksums anew, after a change that was meant."""
    lines = [f'"{name}" = "{digest}"' for name, digest in checksums().items()]
    head = "# What each rules file says in figures; written anew by python -m tests.rulebook.checksums when a change was meant."
    KEPT.write_text("\n".join([head, *lines]) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
