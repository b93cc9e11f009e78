"""A recipe with a past: its versions, which never change, and what was made of them."""

from typing import Annotated, Literal

from pydantic import Field

from advisor.schema.base import Asked, Date, Extensible, Key, Shape
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


class BarTested(Shape):
    """What the bars of a version gave in a test: the mean, and how far apart the bars of all its doughs lay.

    ``against_last`` holds it beside the version it comes from: "less" or "more" only beyond the spread of
    both, "same" within it, null where that one was not tested.
    """

    test: str
    mean: float
    spread: float
    bars: int
    against_last: Annotated[Literal["less", "more", "same"], Extensible()] | None


class VersionTold(RecipeVersion):
    """A version with what changed to it, the doughs that were made of it, oldest first, and their tests."""

    changes: tuple[MovedLine, ...]
    doughs: tuple[DoughMade, ...]
    bar_tests: tuple[BarTested, ...]


class RecipesPage(Page):
    """The newest version of each recipe, by key."""

    items: tuple[RecipeVersion, ...]


class VersionsPage(Page):
    """The versions of a recipe, oldest first."""

    items: tuple[VersionTold, ...]
