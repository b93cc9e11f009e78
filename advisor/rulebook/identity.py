"""Lets what was worked out from a thing be kept by the thing itself, not by its value."""

from typing import Any, Generic, TypeVar

Thing = TypeVar("Thing")


class ByIdentity(Generic[Thing]):
    """A thing that equals itself alone, as a key of what is remembered.

    Examples
    --------
    >>> clay = {"key": "kaolin"}
    >>> ByIdentity(clay) == ByIdentity(clay), ByIdentity(clay) == ByIdentity(dict(clay))
    (True, False)
    """

    __slots__ = ("thing",)

    def __init__(self, thing: Thing) -> None:
        self.thing = thing

    def __eq__(self, other: Any) -> bool:
        """Tell whether another holds the same thing."""
        return isinstance(other, ByIdentity) and self.thing is other.thing

    def __hash__(self) -> int:
        """Return the identity of the thing."""
        return id(self.thing)
