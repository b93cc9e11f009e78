"""The queries of addresses, and where a list becomes pages."""

from bisect import bisect_right
from collections.abc import Callable, Sequence
from typing import Annotated, Literal, TypeVar

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


def page(
    items: Sequence[Item], cursor_of: Callable[[Item], str], after: str | None, limit: int
) -> tuple[tuple[Item, ...], str | None]:
    """Return the items after a cursor, and the cursor of what follows them.

    Parameters
    ----------
    items : sequence
        Sorted by what ``cursor_of`` returns.
    cursor_of : function
    after : str, optional
        The cursor of the last page; it need not be in the list any more.
    limit : int

    Examples
    --------
    >>> page(["clay", "oil", "water"], str, "clay", 1)
    (('oil',), 'oil')
    >>> page(["clay", "oil", "water"], str, "oil", 1)
    (('water',), None)
    """
    start = 0 if after is None else bisect_right(items, after, key=cursor_of)
    found = tuple(items[start : start + limit])
    return found, cursor_of(found[-1]) if start + limit < len(items) else None
