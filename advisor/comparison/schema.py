"""The comparison call: request and answer."""

from typing import Annotated

from pydantic import Field

from advisor.labelling.schema import OrderChange
from advisor.schema.base import Asked, Shape
from advisor.schema.findings import Answer, Check, Shift, State
from advisor.schema.material import Materials
from advisor.schema.recipe import Recipe, Wishes


class ComparisonRequest(Asked):
    """Two recipes, the earlier one first, held to the same wishes."""

    recipes: Annotated[tuple[Recipe, ...], Field(min_length=2, max_length=2)]
    wishes: Wishes | None = None
    materials: Materials | None = None


class ComparedLine(Shape):
    """One material in both recipes [% of each]."""

    material: str
    a: float
    b: float
    change: float


class Compared(State):
    """One of the two as an assessment sees it, with its price [currency per kg]."""

    checks: tuple[Check, ...]
    price: float | None


class LabelBeside(OrderChange):
    """What the second ingredient list moves, adds and drops, and the fragrance allergens it names."""

    allergens: tuple[str, ...]


class ComparisonAnswer(Answer):
    """Both recipes as they stand, line by line, and what shifts from the first to the second."""

    lines: tuple[ComparedLine, ...]
    a: Compared
    b: Compared
    shifts: tuple[Shift, ...]
    label: LabelBeside
