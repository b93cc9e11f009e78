"""Keeps the answers of a sweep in the order asked, with few chunks under way."""

from collections import deque
from collections.abc import Generator, Iterable, Iterator
from concurrent.futures import Future
from itertools import islice

from advisor.sweeps.chunk import Chunk, Job, Outcome, Setting
from advisor.sweeps.executor import Executor
from advisor.sweeps.schema import Swept

PER_CHUNK: dict[Swept, int] = {"correction": 16, "substitution": 4, "assessment": 32}


def chunks(jobs: Iterable[Job | Outcome], task: Swept) -> Iterator[Chunk]:
    """Cut the jobs of a task into chunks that take about as long, whatever the task.

    Examples
    --------
    >>> [len(chunk) for chunk in chunks((Job("substitution", {}) for _ in range(9)), "substitution")]
    [4, 4, 1]
    """
    coming = iter(jobs)
    while chunk := list(islice(coming, PER_CHUNK[task])):
        yield chunk


def in_order(setting: Setting, cut: Iterable[Chunk], executor: Executor) -> Generator[Outcome, None, None]:
    """Yield the outcomes of chunks in their order; chunks are drawn only as the executor takes them on.

    Closing the iterator leaves what has not begun.
    """
    waiting: deque[Future[list[Outcome]]] = deque()
    try:
        for chunk in cut:
            waiting.append(executor.submit(setting, chunk))
            while len(waiting) >= executor.depth:
                yield from waiting.popleft().result()
        while waiting:
            yield from waiting.popleft().result()
    finally:
        for left in waiting:
            left.cancel()
