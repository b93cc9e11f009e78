"""Keeps recipes as versions: a change adds one, and none ever changes."""

import sqlalchemy as sa
from sqlalchemy.engine import Connection

from advisor.errors import Fault, InvalidRequest
from advisor.recipe.versions import past as read_past
from advisor.schema.notebook import KeptRecipe, RecipeVersion, StoredDough, VersionOf, VersionTold
from api.http.answering import text_of
from api.http.errors import existing
from api.notebook import schema
from api.notebook.named import RECIPES
from api.notebook.precondition import Precondition

_recipes, _doughs = schema.recipes, schema.doughs


def newest(connection: Connection, shop: str, key: str) -> RecipeVersion | None:
    """Return the newest version of a recipe, or None."""
    wanted = sa.select(_recipes.c.body).where(_recipes.c.shop == shop, _recipes.c.key == key)
    body = connection.execute(wanted.order_by(_recipes.c.version.desc()).limit(1)).scalar_one_or_none()
    return None if body is None else RecipeVersion.model_validate_json(body)


def get(connection: Connection, shop: str, key: str) -> RecipeVersion:
    """Return the newest version of a recipe.

    Raises
    ------
    NotFound
    """
    return existing(newest(connection, shop, key), "The notebook keeps no recipe under this key.")


def versions(connection: Connection, shop: str, key: str | None = None) -> list[RecipeVersion]:
    """Return the versions of a recipe, or of all, oldest first."""
    kept = RECIPES.items(connection, shop, () if key is None else (key,))
    return [RecipeVersion.model_validate_json(body) for _, body in kept]


def put(
    connection: Connection, shop: str, wanted: RecipeVersion, condition: Precondition
) -> tuple[RecipeVersion, bool]:
    """Keep a recipe as its next version and tell whether it is the first; what says nothing new adds none.

    The number goes on from the doughs too: one that was made of a forgotten version names no other.

    Raises
    ------
    Stale, IfMatchNeeded
    """
    last = newest(connection, shop, wanted.key)
    condition.hold(None if last is None else text_of(last))
    if last is not None and _said(last) == _said(wanted):
        return last, False
    if wanted.descends_from is not None:
        check(connection, shop, wanted.descends_from, "/descends_from")
    used = connection.execute(
        sa.select(sa.func.max(_doughs.c.version)).where(
            _doughs.c.shop == shop, _doughs.c.recipe_key == wanted.key
        )
    ).scalar_one()
    number = 1 + max(used or 0, 0 if last is None else last.version)
    version = wanted.model_copy(update={"version": number})
    RECIPES.add(connection, shop, (version.key, version.version), text_of(version))
    return version, last is None


def remove(connection: Connection, shop: str, key: str, condition: Precondition) -> None:
    """Forget a recipe with its versions; doughs that were made of it stay.

    Raises
    ------
    NotFound, Stale, IfMatchNeeded
    """
    condition.hold(text_of(get(connection, shop, key)))
    connection.execute(sa.delete(_recipes).where(_recipes.c.shop == shop, _recipes.c.key == key))


def check(connection: Connection, shop: str, of: VersionOf, where: str) -> None:
    """Refuse to name a version that is not kept.

    Raises
    ------
    InvalidRequest
    """
    if RECIPES.find(connection, shop, (of.recipe_key, of.version)) is None:
        fault = Fault(where, f"the notebook keeps no version {of.version} of {of.recipe_key!r}")
        raise InvalidRequest("There is no such version of a recipe.", [fault])


def past(connection: Connection, shop: str, key: str) -> list[VersionTold]:
    """Return the versions of a recipe, oldest first, with what changed and what was made of each.

    Raises
    ------
    NotFound
    """
    get(connection, shop, key)
    made = sa.select(_doughs.c.body).where(_doughs.c.shop == shop, _doughs.c.recipe_key == key)
    bodies = connection.execute(made.order_by(_doughs.c.place)).scalars()
    doughs = [StoredDough.model_validate_json(body) for body in bodies]
    return read_past(key, versions(connection, shop), doughs)


def _said(kept: KeptRecipe) -> tuple[object, ...]:
    return kept.recipe, kept.descends_from, kept.note
