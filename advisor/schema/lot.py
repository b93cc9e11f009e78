"""A lot: one delivery of a material, what its certificate and label say, and what of it lies there."""

import datetime
from typing import Annotated, Literal

from pydantic import Field

from advisor.schema.base import Asked, Date, GramsOrZero, Key, PercentOrZero, Price, Shape
from advisor.schema.server import Page

LotName = Annotated[
    str,
    Field(
        strict=True,
        min_length=1,
        max_length=100,
        pattern=r"^[^\x00-\x1f\x7f]*[^\s/\x00-\x1f\x7f][^\x00-\x1f\x7f]*$",
    ),
]


class Lot(Asked):
    """One delivery of a material: active matter and free fatty acid [%], price, dates, stock [g]."""

    active: PercentOrZero | None = None
    price_per_kg: Price | None = None
    received: Date | None = None
    expires: Date | None = None
    stock_grams: GramsOrZero | None = None
    free_fatty_acid: PercentOrZero | None = None
    fineness: Literal["fine", "coarse"] | None = None


class LotRow(Lot):
    """A lot with its material and name."""

    material: Key
    lot: LotName


class Stocked(Shape):
    """A lot: what lies there [g], and what of it doughs of days to come will take [g].

    ``on_hand`` is null where nobody counted it; what may still be planned with is ``on_hand`` - ``reserved``.
    """

    material: str
    name: str
    lot: str
    on_hand: float | None
    reserved: float
    received: datetime.date | None
    expires: datetime.date | None


class StockPage(Page):
    """The lots by material and name."""

    items: tuple[Stocked, ...]
