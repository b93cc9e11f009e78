"""What is written down of a dough, made ready before anything is written."""

import uuid
from typing import Any, NamedTuple

from advisor.recipe.read import lots_of
from advisor.schema.notebook import StoredDough
from api.http.answering import strong_tag


class Ready(NamedTuple):
    """A dough as it is written down: its columns, of which ``body`` is its JSON text, and its lots."""

    columns: dict[str, Any]
    lots: dict[str, str]


def ready(dough: StoredDough, name: str) -> Ready:
    """Return what is written down of a dough under a name.

    Raises
    ------
    InvalidRecipe
        A line names another lot than the dough.
    """
    body = dough.model_copy(update={"id": name}).model_dump_json(exclude_defaults=True)
    columns = {
        "id": name,
        "tag": strong_tag(body.encode()).strip('"'),
        "body": body,
        "recipe_key": dough.recipe_key,
        "version": dough.version,
    }
    return Ready(columns, lots_of(dough.recipe, dough.lots))


def new_id() -> str:
    """Return an id no dough has."""
    return str(uuid.uuid4())
