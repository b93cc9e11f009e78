"""A recipe with a past: its versions, which never change, and what was made of them."""

from typing import Annotated

from pydantic import Field

from advisor.schema.base import Asked, Date, Key, Shape
from advisor.schema.batch_record import LongText
from advisor.schema.recipe import Recipe
from advisor.schema.server import Page

VersionNumber = Annotated[int, Field(strict=True, ge=1, le=1_000_000)]


class VersionOf(Asked):
    """One version of a kept recipe."""

    recipe_key: Key
    version: VersionNumber


class KeptRecipe(Asked):
    """A recipe to keep: without ``descends_from`` it comes from the version before it, where there is one."""

    recipe: Recipe
    descends_from: VersionOf | None = None
    note: LongText | None = None


class RecipeVersion(KeptRecipe):
    """A version as it was kept; it never changes."""

    key: Key
    version: VersionNumber
    kept_on: Date


class MovedLine(Shape):
    """A material whose share differs from that of the version it comes from [% of the recipe]."""

    material: str
    before: float
    after: float
    change: float


class DoughMade(Shape):
    """A dough that was made of a version, and how it was in the end."""

    id: str
    made_on: Date | None
    feel: str | None


class VersionTold(RecipeVersion):
    """A version with what changed to it and the doughs that were made of it, oldest first."""

    changes: tuple[MovedLine, ...]
    doughs: tuple[DoughMade, ...]


class RecipesPage(Page):
    """The newest version of each recipe, by key."""

    items: tuple[RecipeVersion, ...]


class VersionsPage(Page):
    """The versions of a recipe, oldest first."""

    items: tuple[VersionTold, ...]
