"""The one place of a recipe as the contract carries it: lines in percent or in grams."""

from typing import Annotated

from pydantic import Field

from advisor.shapes.base import Asked, Grams, Key, Percent, PercentOrZero, Shape, Text

MOST_LINES = 200


class Line(Asked):
    """One material of a recipe, in percent or in grams."""

    material: Key
    percent: Percent | None = None
    grams: Grams | None = None


class Recipe(Asked):
    """A recipe as a request writes it."""

    name: Text = ""
    lines: Annotated[tuple[Line, ...], Field(min_length=1, max_length=MOST_LINES)]


class PercentLine(Shape):
    """One material of an answer's recipe [%]."""

    material: str
    percent: PercentOrZero


class PercentRecipe(Shape):
    """A recipe of an answer; its percents add up to exactly 100."""

    name: str
    lines: tuple[PercentLine, ...]


class GramLine(Shape):
    """One material of an answer [g]."""

    material: str
    grams: float


class GramRecipe(Shape):
    """What is in a bowl [g]."""

    name: str
    lines: tuple[GramLine, ...]
