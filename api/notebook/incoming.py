"""Reads a whole notebook that is to be put in, row by row."""

from collections.abc import Iterable, Iterator
from typing import Any

from advisor.errors import Fault, InvalidRecipe, InvalidRequest
from advisor.recipe.read import lots_of, read_recipe
from advisor.recipe.request import read_request
from advisor.schema.notebook import StoredNotebook
from advisor.writing import counted


def read_notebook(body: Any) -> StoredNotebook:
    """Return a notebook that is to be put in.

    Raises
    ------
    InvalidRequest
        Rows are wrong or stand twice; each is named, and nothing is put in.
    """
    notebook: StoredNotebook = read_request(StoredNotebook, body)
    found = [
        *_twice("materials", (one.key for one in notebook.materials)),
        *_twice("lots", ((one.material, one.lot) for one in notebook.lots)),
        *_twice("uptake_tests", (one.material for one in notebook.uptake_tests)),
        *_twice("doughs", (one.id for one in notebook.doughs)),
        *_twice("recipes", ((one.key, one.version) for one in notebook.recipes)),
        *_twice("taken", ((one.dough, one.material) for one in notebook.taken)),
    ]
    found += _astray(notebook)
    for index, version in enumerate(notebook.recipes):
        try:
            read_recipe(version.recipe, f"/recipes/{index}/recipe")
        except InvalidRecipe as error:
            found += error.faults
    for index, dough in enumerate(notebook.doughs):
        try:
            read_recipe(dough.recipe, f"/doughs/{index}/recipe")
            lots_of(dough.recipe, dough.lots, f"/doughs/{index}/recipe")
        except InvalidRecipe as error:
            found += error.faults
    if found:
        raise InvalidRequest(
            f"Nothing was put in: {counted(len(found), 'row')} of the notebook cannot be taken.", found
        )
    return notebook


def _astray(notebook: StoredNotebook) -> Iterator[Fault]:
    """Yield what was taken of lots by doughs that name no such lot."""
    lots = {
        one.id: {**{line.material: line.lot for line in one.recipe.lines}, **(one.lots or {})}
        for one in notebook.doughs
    }
    for index, one in enumerate(notebook.taken):
        if lots.get(one.dough, {}).get(one.material) != one.lot:
            yield Fault(f"/taken/{index}", "is of no lot that the dough names")


def _twice(name: str, keys: Iterable[Any]) -> list[Fault]:
    seen: set[Any] = set()
    found = []
    for index, key in enumerate(keys):
        if key is not None and key in seen:
            found.append(Fault(f"/{name}/{index}", "stands in an earlier row", "keep one of them"))
        seen.add(key)
    return found
