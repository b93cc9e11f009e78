"""The shop's notebook on the command line: where it lies, what it knows, what it lists."""

import argparse
import datetime
import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from advisor.cli.reading import say
from advisor.cli.storing import part
from advisor.recipe.notebook import Notebook
from advisor.rulebook.load import load_rulebook

_HERE = "dough-notebook.sqlite3"
_NONE = "none"


def place_of(options: argparse.Namespace) -> str:
    """Return where the notebook lies: as named, as the environment says, here, or with the user's data."""
    named = getattr(options, "notebook", None) or os.environ.get("DOUGH_NOTEBOOK", "").strip()
    if named:
        return str(named)
    if Path(_HERE).exists():
        return _HERE
    import platformdirs

    return str(platformdirs.user_data_path("dough-advisor") / "notebook.sqlite3")


def notebook_of(options: argparse.Namespace) -> Notebook | None:
    """Return what the shop knows, and say where it is written; None without a notebook.

    Raises
    ------
    NotInstalled
        It exists, and the extra that reads it is missing.
    """
    place = place_of(options)
    if place == _NONE or ("://" not in place and not Path(place).exists() and not options.notebook):
        return None
    with _reading(place) as connection:
        if connection is None:
            return None
        knowledge = part("knowledge").Knowledge(
            load_rulebook(), _half_life(), lambda: datetime.datetime.now(datetime.UTC).date()
        )
        known: Notebook = knowledge.of(connection, part("schema").LOCAL)
    say(f"Notebook: {place} ({len(known.names)} judged doughs).")
    return known


def doughs(options: argparse.Namespace) -> list[Any]:
    """Return the doughs of the notebook, newest first."""
    place = place_of(options)
    if place == _NONE or ("://" not in place and not Path(place).exists()):
        return []
    with _reading(place) as connection:
        if connection is None:
            return []
        module = part("doughs")
        kept: list[Any] = module.page(connection, part("schema").LOCAL, 200, newest=True)[0]
        return kept


def _half_life() -> float | None:
    written = os.environ.get("DOUGH_HALF_LIFE_DAYS", "").strip()
    return float(written) if written.isdigit() else None


@contextmanager
def _reading(place: str) -> Iterator[Any]:
    """Give a connection to the notebook; None where nothing was ever kept.

    Raises
    ------
    NotInstalled
    """
    store = part("store").Store(place)
    try:
        if not store.exists:
            yield None
            return
        with store.reading() as connection:
            yield connection
    finally:
        store.close()
