"""The label call: request and answer."""

from typing import Annotated

from pydantic import Field

from advisor.schema.base import Asked, Date, Grams, Market, Name, Shape, Text, UsedOn
from advisor.schema.findings import Answer, TextItem
from advisor.schema.material import Materials
from advisor.schema.recipe import Recipe, WithPH

PreviousNames = Annotated[tuple[Name, ...], Field(max_length=500)]


class Particulars(Asked):
    """What a label says of one batch and of who sells it, from its record and the shop's own papers.

    ``net_grams`` is the content of one bar at packing [g]; ``opened_months`` how long it keeps once opened.
    """

    batch: Text | None = None
    net_grams: Grams | None = None
    best_before: Date | None = None
    opened_months: Annotated[int, Field(strict=True, ge=1, le=120)] | None = None
    responsible: Text | None = None
    contact: Text | None = None
    purpose: Text | None = None
    precautions: Text | None = None


class LabelRequest(WithPH):
    """A recipe and the market it is labelled for; ``previous`` is an earlier list or an earlier recipe.

    ``particulars`` fill what the label needs besides the list; ``used_on`` says which maxima hold.
    """

    recipe: Recipe
    market: Market
    used_on: UsedOn = "hand_and_body"
    previous: PreviousNames | Recipe | None = None
    particulars: Particulars | None = None
    materials: Materials | None = None


class OrderChange(Shape):
    """What moved, came and went since the previous list."""

    moved: tuple[str, ...]
    added: tuple[str, ...]
    dropped: tuple[str, ...]


class OnLabel(Shape):
    """What a label needs besides the list, and what it says there; null until that is told."""

    id: str
    asks: str
    says: str | None


class ListedIngredient(Shape):
    """One name of the list [% of the recipe when added]; ``free``: it may stand in any order."""

    name: str
    percent: float
    free: bool
    colourant: bool


class LabelAnswer(Answer):
    """The ingredient list in order, fragrance allergens above their threshold, and what else to heed.

    ``free_order_from`` is the place in ``ingredients`` from which any order is allowed, null where none is;
    ``also`` is what the label needs besides the list, ``filled`` the same with what was told of it.
    """

    name: str
    market: Market
    ingredients: tuple[str, ...]
    free_order_from: int | None
    allergens: tuple[str, ...]
    remarks: tuple[TextItem, ...]
    also: tuple[str, ...]
    filled: tuple[OnLabel, ...]
    order_changed_from: OrderChange | None
    listed: tuple[ListedIngredient, ...]
    text: str
    basis: str
    source: str
