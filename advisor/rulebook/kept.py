"""Keeps the rules as they were read, where and as Python keeps its compiled modules.

Whoever can write there can change the modules beside it: a copy is trusted as they are.
"""

import hashlib
import os
import pickle
import sys
from collections.abc import Mapping
from contextlib import suppress
from importlib.util import cache_from_source
from pathlib import Path
from typing import Any

from pydantic import VERSION

from advisor.frozen import Lazily

_HERE = Path(__file__).resolve()
_SHAPES = (_HERE.parent, _HERE.parents[1] / "schema")
_PLACE = Path(cache_from_source(str(_HERE))).with_suffix(".rules")
_DIGEST = 32


def packed(value: Any) -> bytes:
    """Return a value as it is kept."""
    return pickle.dumps(value)


def unpacked(held: bytes) -> Any:
    """Return a value that was kept, of a copy that was found to be whole."""
    return pickle.loads(held)  # noqa: S301


class Apart(Lazily[Any]):
    """A table of which each value was packed by itself, and is unpacked when it is first asked for."""

    def __init__(self, held: Mapping[str, bytes]) -> None:
        super().__init__(held, lambda name: unpacked(held[name]))

    def __reduce__(self) -> tuple[type["Apart"], tuple[Any]]:
        """Return what is kept: the values as they were packed, without what was worked out since."""
        return Apart, (self._names,)


def apart(values: Mapping[str, Any]) -> Apart:
    """Return a table that keeps its values apart.

    Examples
    --------
    >>> table = apart({"eu": [1, 2], "uk": [3]})
    >>> table["uk"], unpacked(packed(table))["eu"]
    ([3], [1, 2])
    """
    return Apart({name: packed(value) for name, value in values.items()})


def digest_of(texts: Mapping[str, str]) -> str:
    """Return what tells the texts of rules from any others."""
    return hashlib.sha256("\0".join(f"{name}\0{text}" for name, text in texts.items()).encode()).hexdigest()


def key_of(texts: Mapping[str, str]) -> bytes:
    """Return what a copy is kept under: it is another one once rules, their shapes or pydantic change."""
    sources = (entry for folder in _SHAPES for entry in os.scandir(folder) if entry.name.endswith(".py"))
    stated = sorted((entry.path, entry.stat().st_size, int(entry.stat().st_mtime)) for entry in sources)
    return f"{digest_of(texts)} {stated} {VERSION}".encode()


def found(key: bytes) -> Any:
    """Return what is kept under a key; None where nothing is, or it is damaged."""
    try:
        held = _PLACE.read_bytes()
    except OSError:
        return None
    whole = hashlib.sha256(key + held[_DIGEST:]).digest() == held[:_DIGEST]
    return unpacked(held[_DIGEST:]) if whole else None


def keep(key: bytes, rules: Any) -> None:
    """Keep rules that were just read; where nothing may be written, nothing is kept."""
    if sys.dont_write_bytecode:
        return
    held = packed(rules)
    beside = _PLACE.with_suffix(f".{os.getpid()}")
    with suppress(OSError):
        _PLACE.parent.mkdir(exist_ok=True)
        beside.write_bytes(hashlib.sha256(key + held).digest() + held)
        beside.replace(_PLACE)
