"""Makes classes of figures that nobody changes, without paying for the watch at run time."""

import dataclasses
from collections.abc import Callable
from dataclasses import field, fields, replace
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from dataclasses import dataclass
else:

    def dataclass(*, frozen: bool = False, eq: bool = True, **said: Any) -> Callable[[type], type]:
        """Return the decorator of the standard library; that nobody changes a field, mypy holds alone.

        A frozen class sets every field through a call of its own: a demand takes four times as long to make.
        """
        return dataclasses.dataclass(eq=eq, unsafe_hash=frozen and eq, **said)


__all__ = ["dataclass", "field", "fields", "replace"]
