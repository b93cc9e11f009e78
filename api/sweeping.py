"""Where the server works on many recipes: a few in a thread, many in processes of their own."""

import asyncio
from collections.abc import AsyncGenerator, AsyncIterator, Awaitable

from advisor.frozen import cached_property
from advisor.sweeps.chunk import Chunk, Outcome, Setting, answer_chunk
from advisor.sweeps.executor import Processes
from api.ending import Ending
from api.work import Work

FEW = 32
_AHEAD = 4


class Sweeping:
    """Answers chunks in their order; worker processes start with the first sweep of more than a few recipes.

    Parameters
    ----------
    work : Work
    workers : int
    ending : Ending
    """

    def __init__(self, work: Work, workers: int, ending: Ending) -> None:
        self._work = work
        self._ending = ending
        self._workers = workers
        self._started: Processes | None = None

    def _take(self, setting: Setting, chunk: Chunk, before: int, caller: str) -> Awaitable[list[Outcome]]:
        if before + len(chunk) <= FEW:
            return self._work.run(lambda: answer_chunk(setting, chunk), long=True, caller=caller)
        return asyncio.wrap_future(self._processes.submit(setting, chunk))

    @cached_property
    def _processes(self) -> Processes:
        self._started = Processes(self._workers)
        return self._started

    async def in_order(
        self, setting: Setting, cut: AsyncIterator[Chunk], caller: str
    ) -> AsyncGenerator[list[Outcome], None]:
        """Yield the outcomes of each chunk as soon as they and all before them are ready.

        A few chunks are under way at one time; more are drawn only as their outcomes are taken.

        Raises
        ------
        Busy
            The server ends.
        """
        under_way: asyncio.Queue[asyncio.Future[list[Outcome]] | None] = asyncio.Queue(_AHEAD * self._workers)

        async def feed() -> None:
            before = 0
            try:
                async for chunk in cut:
                    await under_way.put(asyncio.ensure_future(self._take(setting, chunk, before, caller)))
                    before += len(chunk)
            finally:
                await under_way.put(None)

        feeder = asyncio.ensure_future(feed())
        try:
            while (ready := await self._ending.unless_over(under_way.get())) is not None:
                yield await self._ending.unless_over(ready)
            await feeder
        finally:
            feeder.cancel()
            while not under_way.empty():
                left = under_way.get_nowait()
                if left is not None:
                    left.cancel()

    def close(self) -> None:
        """Finish what is running and take no more."""
        if self._started is not None:
            self._started.close()
