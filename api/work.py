"""Where a calculation runs.

A correction takes a few milliseconds of pure computing: it runs in the event loop itself, for threads would
only share the one interpreter and make everybody wait longer. Each waits for its turn, and before it the loop
looks a few times for what has come: a new connection needs several looks until its request is read, and with
a calculation in each of them it would wait for many of those of others. What may take long runs apart: a few
at a time, of one caller one after the other, of the callers each in turn, so that short calls are answered
meanwhile and nobody waits for what another has asked. A second core is used by a second process.
"""

import asyncio
from collections import deque
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from functools import partial
from typing import Any, TypeVar

Result = TypeVar("Result")
LOOKS = 4
AT_ONCE = 4
_Waiting = tuple[Callable[[], Any], asyncio.Future[Any]]


class Work:
    """Runs calculations; ``close`` waits for those that are running."""

    def __init__(self) -> None:
        self._turn = asyncio.Lock()
        self._apart = ThreadPoolExecutor(max_workers=AT_ONCE, thread_name_prefix="long-calculation")
        self._waiting: dict[str, deque[_Waiting]] = {}
        self._running: set[str] = set()

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
        """Begin what those callers ask whose turn it is, and of whom nothing is running."""
        free = [caller for caller in self._waiting if caller not in self._running]
        for caller in free[: AT_ONCE - len(self._running)]:
            tasks = self._waiting[caller]
            while tasks and tasks[0][1].cancelled():
                tasks.popleft()
            if not tasks:
                del self._waiting[caller]
                continue
            task, found = tasks.popleft()
            del self._waiting[caller]
            if tasks:
                self._waiting[caller] = tasks
            self._running.add(caller)
            running = asyncio.get_running_loop().run_in_executor(self._apart, task)
            running.add_done_callback(partial(self._end, caller, found))

    def _end(self, caller: str, found: asyncio.Future[Any], done: asyncio.Future[Any]) -> None:
        self._running.discard(caller)
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
