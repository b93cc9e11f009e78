"""Reads a whole notebook that is to be put in, row by row, and keeps of each row only what is written down.

Thousands of shapes at once would be let go of at once too, and be walked through by the collector of garbage
until then: both hold the interpreter, and with it everybody else.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from typing import Annotated, Any, NamedTuple

from pydantic import BaseModel, PlainValidator, ValidationError, ValidationInfo

from advisor.errors import Fault, InvalidRecipe, InvalidRequest
from advisor.recipe.read import read_recipe
from advisor.recipe.request import read_request
from advisor.schema.base import MOST_FAULTS, Faulty
from advisor.schema.lot import LotRow
from advisor.schema.material import Material, UptakeTest
from advisor.schema.notebook import RecipeVersion, StoredDough, StoredNotebook, Taken
from advisor.writing import counted
from api.http.answering import text_of
from api.notebook.ready import new_id, ready


class Row(NamedTuple):
    """What is kept under a name, and what is wrong with its recipe."""

    name: tuple[Any, ...]
    body: Any
    faults: tuple[Fault, ...] = ()


def _row_of(
    shape: type[BaseModel],
    *names: str,
    body: Callable[[Any, str], Any] = lambda one, _: text_of(one),
    recipe: bool = False,
) -> PlainValidator:
    """Return what reads a row as a shape and keeps its body; once enough is wrong it looks at no more."""

    def read(row: Any, info: ValidationInfo) -> Row | None:
        faulty: Faulty = (info.context or {}).get("faulty") or Faulty()
        if faulty.count >= MOST_FAULTS:
            return None
        try:
            one: Any = shape.model_validate(row, context=info.context)
        except ValidationError:
            faulty.count += not isinstance(row, dict)
            raise
        name = tuple(getattr(one, part) or new_id() for part in names)
        try:
            if recipe:
                read_recipe(one.recipe)
            return Row(name, body(one, name[0]))
        except InvalidRecipe as error:
            return Row(name, None, error.faults)

    return PlainValidator(read)


class Incoming(StoredNotebook):
    """A notebook that is to be put in; a dough's body is ``Ready``, of what was taken all, else a text."""

    materials: tuple[Annotated[Any, _row_of(Material, "key")], ...] = ()
    lots: tuple[
        Annotated[
            Any,
            _row_of(
                LotRow,
                "material",
                "lot",
                body=lambda one, _: one.model_dump_json(exclude={"material", "lot"}, exclude_none=True),
            ),
        ],
        ...,
    ] = ()
    uptake_tests: tuple[Annotated[Any, _row_of(UptakeTest, "material")], ...] = ()
    doughs: tuple[Annotated[Any, _row_of(StoredDough, "id", body=ready, recipe=True)], ...] = ()
    recipes: tuple[Annotated[Any, _row_of(RecipeVersion, "key", "version", recipe=True)], ...] = ()
    taken: tuple[Annotated[Any, _row_of(Taken, "dough", "material", body=lambda one, _: one)], ...] = ()


def read_notebook(body: Any) -> Incoming:
    """Return a notebook that is to be put in.

    Raises
    ------
    InvalidRequest
        Rows are wrong or stand twice; each is named, and nothing is put in.
    """
    notebook: Incoming = read_request(Incoming, body)
    kinds = ("materials", "lots", "uptake_tests", "doughs", "recipes", "taken")
    found = [
        *(fault for kind in kinds for fault in _wrong(kind, getattr(notebook, kind))),
        *_astray(notebook),
    ]
    if found:
        raise InvalidRequest(
            f"Nothing was put in: {counted(len(found), 'row')} of the notebook cannot be taken.", found
        )
    return notebook


def _astray(notebook: Incoming) -> Iterator[Fault]:
    """Yield what was taken of lots by doughs that name no such lot."""
    lots = {one.name[0]: one.body and one.body.lots for one in notebook.doughs}
    for index, one in enumerate(notebook.taken):
        named = lots.get(one.name[0], {})
        if named is not None and named.get(one.name[1]) != one.body.lot:
            yield Fault(f"/taken/{index}", "is of no lot that the dough names")


def _wrong(name: str, rows: Sequence[Row]) -> Iterator[Fault]:
    """Yield what stands twice, and what is wrong with recipes."""
    seen: set[tuple[Any, ...]] = set()
    for index, one in enumerate(rows):
        if one.name in seen:
            yield Fault(f"/{name}/{index}", "stands in an earlier row", "keep one of them")
        seen.add(one.name)
    for index, one in enumerate(rows):
        for fault in one.faults:
            yield replace(fault, where=f"/{name}/{index}{fault.where}")
