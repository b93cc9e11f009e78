"""A recipe, what a maker reports of its dough and asks of it, and what requests about one have in common."""

from collections.abc import Mapping
from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from advisor.schema.base import (
    PH,
    Asked,
    BalanceStep,
    Count,
    Date,
    Days,
    Degree,
    Degrees,
    Feel,
    Grams,
    Key,
    Market,
    Minutes,
    Name,
    Percent,
    PercentOrZero,
    Shape,
    Sign,
    Text,
    UsedOn,
)
from advisor.schema.lot import LotName
from advisor.schema.material import Materials

MOST_LINES = 200
_ABSENT = Field(exclude_if=lambda lot: lot is None)
LotUsed = Annotated[str | None, _ABSENT]


class Line(Asked):
    """One material of a recipe, in percent or in grams; ``lot`` is the delivery it comes from."""

    material: Key
    percent: Percent | None = None
    grams: Grams | None = None
    lot: Annotated[LotName | None, _ABSENT] = None


class Recipe(Asked):
    """A recipe as a request writes it."""

    name: Text = ""
    lines: Annotated[tuple[Line, ...], Field(min_length=1, max_length=MOST_LINES)]

    def of_lots(self, lots: Mapping[str, str]) -> Self:
        """Return the recipe with these lots in its lines."""
        lines = [line.model_copy(update={"lot": lots.get(line.material, line.lot)}) for line in self.lines]
        return self.model_copy(update={"lines": tuple(lines)})


class PercentLine(Shape):
    """One material of an answer's recipe [%], with its lot where the request named one."""

    material: str
    percent: PercentOrZero
    lot: LotUsed = None


class PercentRecipe(Shape):
    """A recipe of an answer; its percents add up to exactly 100."""

    name: str
    lines: tuple[PercentLine, ...]


class GramLine(Shape):
    """One material of an answer [g], with its lot where the request named one."""

    material: str
    grams: float
    lot: LotUsed = None


class GramRecipe(Shape):
    """What is in a bowl [g]."""

    name: str
    lines: tuple[GramLine, ...]


Shelf = Annotated[tuple[Key, ...], Field(max_length=1000)]


Method = Literal["hand", "mixer", "press"]
_SIGNS_AT_MOST = 50


class Report(Asked):
    """How a dough felt, and the circumstances it was judged in."""

    feel: Feel
    degree: Degree = "clear"
    signs: Annotated[tuple[Sign, ...], Field(max_length=_SIGNS_AT_MOST)] = ()
    kneaded_minutes: Minutes | None = None
    rested_minutes: Minutes | None = None
    room_c: Degrees | None = None
    room_rh: PercentOrZero | None = None
    dough_c: Degrees | None = None
    minutes_since_melt: Minutes | None = None
    method: Method | None = None
    dried_days: Days | None = None


class PastDough(Asked):
    """An earlier dough of the same maker, with what was reported of it."""

    recipe: Recipe
    report: Report
    made_on: Date | None = None
    lots: dict[Key, Text] | None = None


History = Annotated[tuple[PastDough, ...], Field(max_length=500)]


class Band(Asked):
    """A band [%]; a missing end is open."""

    min: PercentOrZero | None = None
    max: PercentOrZero | None = None


Confidence = Annotated[float, Field(strict=True, allow_inf_nan=False, ge=0.5, le=0.99)]


Claim = Literal["sulfate_free", "palm_free", "vegan", "unscented", "not_ethoxylated"]


class DraftWishes(Asked):
    """What the new bar is to be: where it is used and sold, how strong, and what its label promises."""

    active: Band | None = None
    lines: dict[Key, Band] = Field(default_factory=dict, max_length=200)
    components: dict[Name, Band] = Field(default_factory=dict, max_length=200)
    components_dried: dict[Name, Band] = Field(default_factory=dict, max_length=200)
    market: Market = "none"
    aim: Literal["closest", "lowest_cost"] = "closest"
    claims: Annotated[tuple[Claim, ...], Field(max_length=5)] = ()
    used_on: UsedOn = "hand_and_body"


class Wishes(DraftWishes):
    """Bands, held lines, market and aim of a request."""

    fixed: Annotated[tuple[Key, ...], Field(max_length=200)] = ()
    new_materials_at_most: Count | None = None
    confidence: Confidence | None = None


class WithPH(Asked):
    """A request that may say which pH was read, and in a dispersion of how many percent (default: 10)."""

    ph: PH | None = None
    ph_at_percent: Percent | None = None

    @model_validator(mode="after")
    def _of_a_reading(self) -> Self:
        if self.ph_at_percent is not None and self.ph is None:
            raise ValueError("ph_at_percent says how ph was read, and no ph is told")
        return self


class OfRecipe(WithPH):
    """A request about one recipe, what is wished of it, and materials that the rules do not know."""

    recipe: Recipe
    wishes: Wishes | None = None
    materials: Materials | None = None


class OfRecipeAndShelf(OfRecipe):
    """A request that may also name what is at hand, and earlier doughs."""

    shelf: Shelf | None = None
    history: History | None = None


class WithBatch(WithPH):
    """A request that may say how much is made [g], and what the balance reads to [g]."""

    batch_grams: Grams | None = None
    balance_step: BalanceStep | None = None

    @model_validator(mode="after")
    def _step_fits(self) -> Self:
        if self.batch_grams and self.balance_step and self.balance_step > self.batch_grams:
            raise ValueError("balance_step is coarser than the whole batch")
        return self
