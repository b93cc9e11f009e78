"""The shop's notebook on the command line: where it lies, what it knows, and how it is read and written."""

import argparse
import datetime
import os
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from typing import Any, TypeVar

from advisor.cli.reading import say
from advisor.cli.storing import Refused, part, settings
from advisor.recipe.notebook import Notebook, unwritten_notebook
from advisor.rulebook.load import load_rulebook

Result = TypeVar("Result")
_HERE = "dough-notebook.sqlite3"
_NONE = "none"
_NEWEST = 200


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
    notebook: Notebook | None = read(options, lambda shop: shop.known())
    if notebook is None:
        return unwritten_notebook(load_rulebook(), settings().facts)
    judged = len(notebook.names)
    say(f"Notebook: {place_of(options)} ({judged} judged dough{'' if judged == 1 else 's'}).")
    return notebook


def today() -> datetime.date:
    """Return the day, in Greenwich as the server has it."""
    return datetime.datetime.now(datetime.UTC).date()


def read(options: argparse.Namespace, work: Callable[[Any], Result]) -> Result | None:
    """Return what ``work`` reads in the shop's notebook; None without one.

    Raises
    ------
    NotInstalled
        It exists, and the extra that reads it is missing.
    """
    place = place_of(options)
    if place == _NONE or ("://" not in place and not Path(place).exists() and not options.notebook):
        return None
    store = part("store").Store(place)
    with closing(store):
        if not store.exists:
            return None
        with store.reading() as connection:
            return work(_shop(connection))


def write(options: argparse.Namespace, work: Callable[[Any], Result]) -> Result:
    """Return what ``work`` writes in the shop's notebook, which is made where there is none.

    Raises
    ------
    NotInstalled, Refused
    """
    place = place_of(options)
    if place == _NONE:
        raise Refused("Nothing can be kept without a notebook: name one with --notebook FILE.")
    if "://" not in place:
        Path(place).absolute().parent.mkdir(parents=True, exist_ok=True)
    with closing(part("store").Store(place)) as store, store.writing() as connection:
        shop = _shop(connection)
        part("named").changed(connection, shop.id)
        done = work(shop)
    say(f"Notebook: {place}.")
    return done


def seen(*, there: bool) -> Any:
    """Return the precondition of who has just seen, in the same transaction, what he changes."""
    return part("precondition").Precondition(if_match="*" if there else None)


def _shop(connection: Any) -> Any:
    """Return the notebook of the first shop, as the server has it for who asks on its own machine."""
    callers, chosen = part("callers"), settings()
    caller = callers.Caller(callers.LOCAL, "owner", "command line")
    knowledge = part("knowledge").Knowledge(load_rulebook(), chosen.half_life_days, today, chosen.facts)
    return part("shop").Shop(connection, caller, knowledge)


def doughs(options: argparse.Namespace) -> list[Any]:
    """Return the newest doughs of the notebook, newest first."""
    return read(options, newest) or []


def newest(shop: Any) -> list[Any]:
    """Return the newest doughs of a shop, newest first."""
    kept: list[Any] = shop.doughs(_NEWEST, None, newest=True, lot=None)[0]
    return kept
