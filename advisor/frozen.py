"""Makes classes of figures that nobody changes, and values of them that are worked out once, at no cost."""

import dataclasses
import functools
from collections.abc import Callable, Collection, Iterator, Mapping
from dataclasses import field, fields, replace
from typing import TYPE_CHECKING, Any, TypeVar

if TYPE_CHECKING:
    from dataclasses import dataclass
    from functools import cached_property
else:

    def dataclass(*, frozen: bool = False, eq: bool = True, **said: Any) -> Callable[[type], type]:
        """Return the decorator of the standard library; that nobody changes a field, mypy holds alone.

        A frozen class sets every field through a call of its own: a demand takes four times as long to make.
        """
        return dataclasses.dataclass(eq=eq, unsafe_hash=frozen and eq, **said)

    class cached_property(functools.cached_property):  # noqa: N801
        """A value that is worked out when it is first asked for, and kept.

        Until Python 3.12 that of the standard library holds one lock for all objects of a class: a value that
        takes long in one thread would hold up the quick ones of all others.
        """

        def __get__(self, instance: Any, owner: type | None = None) -> Any:
            """Return the value, worked out now: once it is kept nobody comes here."""
            if instance is None:
                return self
            kept = instance.__dict__[self.attrname] = self.func(instance)
            return kept


Value = TypeVar("Value")


class Lazily(Mapping[str, Value]):
    """A table of which each value is worked out when it is first asked for, and kept.

    Examples
    --------
    >>> table = Lazily(("eu", "uk"), str.upper)
    >>> table["eu"], list(table), table.get("us")
    ('EU', ['eu', 'uk'], None)
    """

    def __init__(self, names: Collection[str], work: Callable[[str], Value]) -> None:
        self._names, self._work = names, work
        self._kept: dict[str, Value] = {}

    def __getitem__(self, name: str) -> Value:
        """Return a value, worked out now if it is the first time."""
        if name not in self._kept and name in self._names:
            return self._kept.setdefault(name, self._work(name))
        return self._kept[name]

    def __iter__(self) -> Iterator[str]:
        """Yield the names; nothing is worked out."""
        return iter(self._names)

    def __len__(self) -> int:
        """Return how many there are."""
        return len(self._names)


__all__ = ["Lazily", "cached_property", "dataclass", "field", "fields", "replace"]
