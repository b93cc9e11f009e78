"""The queries of addresses, and where a list becomes pages."""

from bisect import bisect_right
from collections.abc import Callable, Sequence
from typing import Annotated, Any, Literal, TypeVar

from pydantic import BaseModel, ConfigDict, Field

from advisor.printing.weigh_sheet import Units
from advisor.schema.base import Market, UsedOn
from advisor.schema.material import Role
from advisor.sweeps.schema import Swept

Limit = Annotated[int, Field(ge=1, le=200)]
Cursor = Annotated[str, Field(max_length=200)]


class Asking(BaseModel):
    """A query of an address; what it does not know is refused."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class SheetQuery(Asking):
    """In which units a form is printed; figures of JSON are grams."""

    units: Units = "g"


class LabelQuery(Asking):
    """The market a label is for, and what the bar is used on."""

    market: Market
    used_on: UsedOn = "hand_and_body"


class PageQuery(Asking):
    """Which part of a list: what comes ``after`` a cursor, at most ``limit`` items."""

    after: Cursor | None = None
    limit: Limit = 50


class LongPageQuery(PageQuery):
    """Which part of a list of rules."""

    limit: Limit = 200


class MaterialsQuery(PageQuery):
    """Which materials: ``q`` is any part of the key, a name or an INCI name."""

    q: Annotated[str, Field(max_length=200)] | None = None
    role: Role | None = None
    own: Literal["true", "false"] | None = None


class SweepQuery(Asking):
    """The task of those lines of a sweep that do not name theirs; lines of JSON only."""

    task: Swept | None = None


class LimitsQuery(LongPageQuery):
    """Which limits."""

    market: Market | None = None


Item = TypeVar("Item")


def page(items: Sequence[Item], cursor_of: Callable[[Item], str], asked: PageQuery) -> dict[str, Any]:
    """Return the part of a list that is asked for as ``items``, and the cursor of what follows as ``next``.

    Parameters
    ----------
    items : sequence
        Sorted by what ``cursor_of`` returns; the cursor asked for need not be among them any more.
    cursor_of : function
    asked : PageQuery

    Examples
    --------
    >>> page(["clay", "oil", "water"], str, PageQuery(after="clay", limit=1))
    {'items': ('oil',), 'next': 'oil'}
    >>> page(["clay", "oil", "water"], str, PageQuery(after="oil", limit=1))
    {'items': ('water',), 'next': None}
    """
    start = 0 if asked.after is None else bisect_right(items, asked.after, key=cursor_of)
    found = tuple(items[start : start + asked.limit])
    return {"items": found, "next": cursor_of(found[-1]) if start + asked.limit < len(items) else None}
