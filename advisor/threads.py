"""Keeps the threads of one process from holding each other up."""

import functools
import os
from collections.abc import Callable
from contextlib import nullcontext
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from functools import cached_property
else:

    def cached_property(work: Callable[[Any], Any]) -> functools.cached_property:
        """Return a value that is worked out when it is first asked for, and kept.

        Until Python 3.12 that of the standard library holds one lock for all objects of a class: a value that
        takes long in one thread would hold up the quick ones of all others.
        """
        kept = functools.cached_property(work)
        kept.lock = nullcontext()
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
