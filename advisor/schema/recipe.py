"""A recipe as the contract carries it: lines in percent or in grams."""

from collections.abc import Mapping
from typing import Annotated, Self

from pydantic import Field

from advisor.schema.base import Asked, Grams, Key, Percent, PercentOrZero, Shape, Text
from advisor.schema.lot import LotName

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
