"""Decides where a calculation runs.

A correction takes a few milliseconds of pure computing: it runs in the event loop itself, for threads would
only share the one interpreter and make everybody wait longer. Each waits for its turn, and before it the loop
looks a few times for what has come: a new connection needs several looks until its request is read, and with
a calculation in each of them it would wait for many of those of others. What may take long runs apart, one
after the other, so that short calls are answered meanwhile. A second core is used by a second process.
"""

import asyncio
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from typing import TypeVar

Result = TypeVar("Result")
SHORT_BYTES = 16 * 1024
LOOKS = 4


class Work:
    """Runs calculations; ``close`` waits for the one that is running."""

    def __init__(self) -> None:
        self._turn = asyncio.Lock()
        self._apart = ThreadPoolExecutor(max_workers=1, thread_name_prefix="long-calculation")

    async def run(self, task: Callable[[], Result], *, long: bool) -> Result:
        """Return what a task returns."""
        if not long:
            async with self._turn:
                for _ in range(LOOKS):
                    await asyncio.sleep(0)
                return task()
        return await asyncio.get_running_loop().run_in_executor(self._apart, task)

    def close(self) -> None:
        """Finish what is running and take no more."""
        self._apart.shutdown(wait=True, cancel_futures=True)
