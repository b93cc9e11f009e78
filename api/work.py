"""Where a calculation runs.

A correction takes a few milliseconds of pure computing: it runs in the event loop itself, for threads would
only share the one interpreter and make everybody wait longer. Each waits for its turn, and before it the loop
looks a few times for what has come: a new connection needs several looks until its request is read, and with
a calculation in each of them it would wait for many of those of others. What may take long runs apart, one
after the other and one of each caller in turn, so that short calls are answered meanwhile and nobody waits
for all that another has asked. A second core is used by a second process.
"""

import asyncio
from collections import deque
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from functools import partial
from typing import Any, TypeVar

Result = TypeVar("Result")
LOOKS = 4
_Waiting = tuple[Callable[[], Any], asyncio.Future[Any]]


class Work:
    """Runs calculations; ``close`` waits for the one that is running."""

    def __init__(self) -> None:
        self._turn = asyncio.Lock()
        self._apart = ThreadPoolExecutor(max_workers=1, thread_name_prefix="long-calculation")
        self._waiting: dict[str, deque[_Waiting]] = {}
        self._busy = False

    async def run(self, task: Callable[[], Result], *, long: bool, caller: str = "") -> Result:
        """Return what a task returns; a long one waits for others of its caller, not for all of another's."""
        if not long:
            async with self._turn:
                for _ in range(LOOKS):
                    await asyncio.sleep(0)
                return task()
        found: asyncio.Future[Result] = asyncio.get_running_loop().create_future()
        self._waiting.setdefault(caller, deque()).append((task, found))
        self._begin()
        return await found

    def _begin(self) -> None:
        """Begin what the caller asks whose turn it is, unless something is running."""
        while self._waiting and not self._busy:
            caller, tasks = next(iter(self._waiting.items()))
            task, found = tasks.popleft()
            del self._waiting[caller]
            if tasks:
                self._waiting[caller] = tasks
            if not found.cancelled():
                self._busy = True
                running = asyncio.get_running_loop().run_in_executor(self._apart, task)
                running.add_done_callback(partial(self._end, found))

    def _end(self, found: asyncio.Future[Any], done: asyncio.Future[Any]) -> None:
        self._busy = False
        error = None if done.cancelled() else done.exception()
        if done.cancelled():
            found.cancel()
        elif not found.cancelled() and error is not None:
            found.set_exception(error)
        elif not found.cancelled():
            found.set_result(done.result())
        self._begin()

    def close(self) -> None:
        """Finish what is running and take no more."""
        self._apart.shutdown(wait=True, cancel_futures=True)
