"""Keeps the threads of one process from holding each other up."""

import functools
import os
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from functools import cached_property
else:

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


__all__ = ["cached_property", "use_one_thread"]


def use_one_thread() -> None:
    """Tell the libraries of linear algebra, before they load, to compute in the thread that asks.

    A second one only waits for the first, on a busy machine long. What the environment says goes first.

    Examples
    --------
    >>> use_one_thread()
    >>> os.environ["OMP_NUM_THREADS"] != ""
    True
    """
    for name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
        os.environ.setdefault(name, "1")
