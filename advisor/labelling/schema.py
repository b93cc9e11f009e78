"""The label call: request and answer."""

from typing import Annotated

from pydantic import Field

from advisor.schema.acidity import WithPH
from advisor.schema.base import Market, Name, Shape
from advisor.schema.findings import Answer, TextItem
from advisor.schema.material import Materials
from advisor.schema.recipe import Recipe

PreviousNames = Annotated[tuple[Name, ...], Field(max_length=500)]


class LabelRequest(WithPH):
    """A recipe and the market it is labelled for; ``previous`` is an earlier list or an earlier recipe."""

    recipe: Recipe
    market: Market
    previous: PreviousNames | Recipe | None = None
    materials: Materials | None = None


class OrderChange(Shape):
    """What moved, came and went since the previous list."""

    moved: tuple[str, ...]
    added: tuple[str, ...]
    dropped: tuple[str, ...]


class ListedIngredient(Shape):
    """One name of the list [% of the recipe when added]; ``free``: it may stand in any order."""

    name: str
    percent: float
    free: bool
    colourant: bool


class LabelAnswer(Answer):
    """The ingredient list in order, fragrance allergens above their threshold, and what else to heed.

    ``free_order_from`` is the place in ``ingredients`` from which any order is allowed, null where none is;
    ``also`` is what the label needs besides the list.
    """

    name: str
    market: Market
    ingredients: tuple[str, ...]
    free_order_from: int | None
    allergens: tuple[str, ...]
    remarks: tuple[TextItem, ...]
    also: tuple[str, ...]
    order_changed_from: OrderChange | None
    listed: tuple[ListedIngredient, ...]
    text: str
    basis: str
    source: str
