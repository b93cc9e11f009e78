"""Makes classes of figures that nobody changes, and values of them that are worked out once, at no cost."""

import dataclasses
import functools
from collections.abc import Callable
from dataclasses import field, fields, replace
from typing import TYPE_CHECKING, Any

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


__all__ = ["cached_property", "dataclass", "field", "fields", "replace"]
