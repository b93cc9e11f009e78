"""The shop's notebook on the command line, and what a verb is asked of: a file or what is kept there."""

import argparse
import datetime
import json
import os
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from typing import Any, TypeVar

from advisor.cli.reading import Body, Kept, put_in, read_body, recipe_of, say, side_by_side, without_others
from advisor.cli.storing import Refused, part, settings
from advisor.recipe.notebook import Notebook, unwritten_notebook
from advisor.registry import Task
from advisor.rulebook.load import load_rulebook
from advisor.writing import Writing, counted

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
    judged = counted(len(notebook.names), "judged dough")
    say(f"Notebook: {part('place').place_of(place_of(options))} ({judged}).")
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
    say(f"Notebook: {part('place').place_of(place)}.")
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


_USUAL_STEP = 0.1
_LAST = "last"
_SHORTEST = 4


def body_of(options: argparse.Namespace, asked: Task, notebook: Notebook | None) -> Body:
    """Return the request: what it is asked of, with what the options say put in.

    Raises
    ------
    InvalidRequest, InvalidRecipe
    """
    shape, sources = asked.request, options.file
    if asked.name == "plan_day":
        body = _day(options)
    elif sources is None:
        body = {}
    else:
        body = recipe_of(named(options, sources))
    if asked.name == "trial" and "recipe" in body:
        body["recipes"] = [body.pop("recipe")]
    if getattr(options, "other", None):
        other = recipe_of(named(options, options.other))
        body = side_by_side((sources, body), (options.other, other), options.market)
    return put_in(without_others(body, shape, asked.asked_as), options, shape, keys_of(notebook))


def _day(options: argparse.Namespace) -> Body:
    """Return the batches of a day: as a request holds them, or each a recipe with its grams.

    Raises
    ------
    InvalidRequest, InvalidRecipe
    """
    first, *more = options.file
    if not more and "=" not in first:
        body = read_body(first)
        if "batches" in body:
            return body
    batches = []
    for one in options.file:
        source, _, grams = one.rpartition("=")
        try:
            batch = {
                "batch_grams": Writing.of(os.environ).grams(grams),
                "balance_step": options.balance or _USUAL_STEP,
            }
        except ValueError:
            source = ""
        if not source:
            raise Refused(f"{one!r} is no batch of a day: write it as my-bar.csv=1000, with its grams.")
        batches.append({"recipe": recipe_of(named(options, source)).get("recipe"), **batch})
    return {"batches": batches}


def named(options: argparse.Namespace, source: str) -> Body:
    """Return what a file, or else a recipe or a dough of the notebook, holds.

    Raises
    ------
    InvalidRequest, InvalidRecipe
    """
    if source == "-" or Path(source).exists():
        return read_body(source)
    return read(options, lambda notes: _recipe(notes, source) or _dough(notes, source)) or read_body(source)


def _recipe(notes: Any, source: str) -> Body | None:
    """Return a recipe by its key, or a version of it by key@number."""
    key, at, number = source.partition("@")
    versions = [one for one in notes.recipes() if one.key == key]
    if not versions:
        return None
    found = [one for one in versions if str(one.version) == number] if at else versions
    if not found:
        raise Refused(f"The notebook keeps no version {number} of {key!r}: dough-advisor recipes {key}")
    body: Body = found[-1].recipe.model_dump(mode="json", exclude_none=True)
    return Kept(recipe=body, recipe_key=key, version=found[-1].version)


def _dough(notes: Any, source: str) -> Body | None:
    found = dough_named(notes, source)
    if found is None:
        return None
    from advisor.schema.notebook import StoredDough

    body = json.loads(found.body)
    told = StoredDough.model_validate(body).particulars()
    return Kept({**body, "weighings": body.get("drying") or [], "particulars": told})


def dough_named(notes: Any, source: str) -> Any:
    """Return the dough of an id or of how an id begins, or the newest; None where there is none.

    Raises
    ------
    Refused
        Several ids begin so.
    """
    kept = newest(notes)
    if source == _LAST:
        return kept[0] if kept else None
    found = [one for one in kept if one.id == source]
    if not found and len(source) >= _SHORTEST:
        found = [one for one in kept if one.id.startswith(source)]
    if len(found) > 1:
        raise Refused(f"{len(found)} doughs have an id that begins with {source!r}: write more of it.")
    return found[0] if found else None


def keys_of(notebook: Notebook | None) -> Callable[[str], str]:
    """Return what finds the key of a material's name, the shop's own before the library's."""
    own = {} if notebook is None else notebook.materials
    called = {one.material.name.casefold(): key for key, one in own.items()}

    def key(name: str) -> str:
        return called.get(name.casefold()) or load_rulebook().key_named(name) or name

    return key
