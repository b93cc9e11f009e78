"""What a shop keeps: its recipes and doughs, and the whole notebook in one piece."""

from typing import Annotated, Any, Literal, Self

from pydantic import Field, model_validator

from advisor.schema.base import (
    Asked,
    Date,
    Degrees,
    Extensible,
    Feel,
    Grams,
    Key,
    Name,
    Shape,
)
from advisor.schema.batch_record import BarTest, BatchRecordRequest, LongText, Made
from advisor.schema.findings import MovedLine
from advisor.schema.lot import LotName, LotRow
from advisor.schema.material import Material, UptakeTest
from advisor.schema.recipe import Recipe, Report
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


DoughId = Annotated[str, Field(strict=True, pattern=r"^[A-Za-z0-9-]{1,64}$")]


class Added(Asked):
    """What went into the bowl after the first report [g]."""

    material: Key
    grams: Grams


class DoughOf(Asked):
    """What a dough is made of: its recipe, or the version of a kept one, and how much of it."""

    id: DoughId | None = None
    recipe: Recipe
    recipe_key: Key | None = None
    version: VersionNumber | None = None
    batch_grams: Grams | None = None


class StoredDough(Made, DoughOf):
    """A dough of the notebook: what it was made of and by, how it felt, and what became of it.

    ``report`` is how the recipe felt, ``added`` what then went into the bowl, ``outcome`` how the dough was
    in the end: after the additions where there are any, otherwise of the recipe itself. ``recipe_key`` and
    ``version`` name the version of a kept recipe it was made of.
    """

    lots: Annotated[dict[Key, LotName], Field(max_length=200)] | None = None
    room_c: Degrees | None = None
    added: Annotated[tuple[Added, ...], Field(max_length=50)] = ()
    outcome: Report | Feel | None = None
    bar_tests: Annotated[tuple[BarTest, ...], Field(max_length=50)] = ()

    @model_validator(mode="after")
    def _names_a_version_whole(self) -> Self:
        if (self.recipe_key is None) != (self.version is None):
            raise ValueError("needs both recipe_key and version, or neither")
        return self

    @property
    def feel(self) -> str | None:
        """How it was in the end, as far as anybody said."""
        last = self.outcome or self.report
        return last.feel if isinstance(last, Report) else last

    def particulars(self) -> dict[str, Any]:
        """Return what a label says of its batch: its number, and the content of a bar when packed [g]."""
        net = None if not (self.packed_grams and self.bars) else round(self.packed_grams / self.bars, 1)
        told = {"batch": self.batch, "net_grams": net}
        return {name: value for name, value in told.items() if value is not None}

    def as_record(self) -> BatchRecordRequest | None:
        """Return what is known of it as a batch record; None where nobody wrote how much it was."""
        grams = self.batch_grams or sum(line.grams or 0.0 for line in self.recipe.lines)
        if not grams:
            return None
        names = BatchRecordRequest.model_fields.keys() & StoredDough.model_fields.keys()
        known = {name: value for name in names if (value := getattr(self, name)) is not None}
        return BatchRecordRequest.model_validate({**known, "batch_grams": grams})


class Taken(Asked):
    """What a dough took of a lot [g], which it gives back when it is forgotten."""

    dough: DoughId
    material: Key
    lot: LotName
    grams: Grams


class StoredNotebook(Asked):
    """Everything a shop keeps, in one piece; ``format`` 1 knows no recipes and nothing taken of lots."""

    format: Annotated[int, Field(strict=True, ge=1, le=2, json_schema_extra={"enum": [1, 2]})]
    materials: tuple[Material, ...] = ()
    lots: tuple[LotRow, ...] = ()
    uptake_tests: tuple[UptakeTest, ...] = ()
    doughs: tuple[StoredDough, ...] = ()
    recipes: tuple[RecipeVersion, ...] = ()
    taken: tuple[Taken, ...] = ()
    rules_version: Name | None = None

    @model_validator(mode="after")
    def _holds_what_its_format_knows(self) -> Self:
        if self.format == 1 and (self.recipes or self.taken):
            raise ValueError("format 1 knows no recipes and nothing taken: send format 2")
        return self
