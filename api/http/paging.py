"""Where a list becomes pages: sorted by a key that is the cursor."""

from bisect import bisect_right
from collections.abc import Callable, Sequence
from typing import TypeVar

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
