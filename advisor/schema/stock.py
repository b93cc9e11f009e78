"""What lots hold, and what planned doughs will take of them."""

import datetime

from advisor.schema.base import Shape
from advisor.schema.server import Page


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
