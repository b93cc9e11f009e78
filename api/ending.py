"""How the server learns that it is to end, while it still works on what was asked."""

import asyncio
import signal
import threading
from collections.abc import Awaitable
from types import FrameType
from typing import Any, TypeVar

from api.http.errors import Busy

Result = TypeVar("Result")
GRACE_SECONDS = 4.0


class Ending:
    """Whether the server was told to end, and what was begun has had its time."""

    def __init__(self) -> None:
        self._over = False
        self._waiting: set[asyncio.Future[None]] = set()

    def watch(self) -> None:
        """Notice the signals that end a server, and hand them on to whoever handled them before."""
        if threading.current_thread() is not threading.main_thread():
            return
        loop = asyncio.get_running_loop()
        for number in (signal.SIGTERM, signal.SIGINT):
            before = signal.getsignal(number)

            def heard(number: int, frame: FrameType | None, before: Any = before) -> None:
                loop.call_soon_threadsafe(loop.call_later, GRACE_SECONDS, self._end)
                if callable(before):
                    before(number, frame)

            if callable(before):
                signal.signal(number, heard)

    def _end(self) -> None:
        self._over = True
        for waiting in self._waiting:
            waiting.set_result(None)

    async def unless_over(self, wanted: Awaitable[Result]) -> Result:
        """Return what is waited for.

        Raises
        ------
        Busy
            The server ends before it is there.
        """
        task = asyncio.ensure_future(wanted)
        over: asyncio.Future[None] = asyncio.get_running_loop().create_future()
        self._waiting.add(over)
        try:
            if not self._over:
                await asyncio.wait((task, over), return_when=asyncio.FIRST_COMPLETED)
            if not task.done():
                raise Busy("The server is being ended; from here on nothing was answered.")
            return task.result()
        finally:
            self._waiting.discard(over)
            task.cancel()
