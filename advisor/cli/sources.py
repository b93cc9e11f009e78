"""What a verb is asked of: a file, a recipe that is kept, or a dough of the notebook."""

import argparse
import json
import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

from advisor.cli import shop
from advisor.cli.reading import Body, Kept, put_in, read_body, recipe_of, side_by_side, without_others
from advisor.cli.storing import Refused
from advisor.recipe.notebook import Notebook
from advisor.registry import Task
from advisor.rulebook.load import load_rulebook
from advisor.schema.notebook import StoredDough
from advisor.writing import Writing

_USUAL_STEP = 0.1
_NEWEST = "last"
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
    kept = shop.read(options, lambda notes: _recipe(notes, source) or _dough(notes, source))
    return kept or read_body(source)


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
    kept = shop.newest(notes)
    if source == _NEWEST:
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
