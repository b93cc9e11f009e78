"""The one place that decides where a calculation runs: in the event loop itself, one after the other.

A correction takes a few milliseconds of pure computing. Threads would only share the one interpreter and make
everybody wait longer; a second core is used by a second process.
"""

from collections.abc import Callable
from typing import Any, TypeVar

Result = TypeVar("Result")


async def worked(task: Callable[[Any], Result], body: Any) -> Result:
    """Return what a task makes of a body."""
    return task(body)
