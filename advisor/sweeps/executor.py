"""Who answers the chunks of a sweep on this machine, and how their answers keep the order asked."""

import multiprocessing
import os
import sys
import threading
import weakref
from collections import deque
from collections.abc import Callable, Generator, Iterable, Iterator
from concurrent.futures import BrokenExecutor, Future, ProcessPoolExecutor, ThreadPoolExecutor
from contextlib import contextmanager
from itertools import islice
from types import ModuleType
from typing import Protocol

from advisor.errors import SolverError
from advisor.rulebook.load import load_rulebook
from advisor.sweeps.chunk import Chunk, Job, Outcome, Setting, answer_chunk, answer_packed, refused
from advisor.sweeps.schema import Swept

Outcomes = list[Outcome]
_AHEAD = 2
_STARTING = threading.Lock()


class Executor(Protocol):
    """Who answers chunks; ``depth`` is how many it takes on at one time."""

    depth: int

    def submit(self, setting: Setting, chunk: Chunk) -> "Future[Outcomes]":
        """Take on a chunk."""

    def close(self) -> None:
        """Take no more; what has not begun is left."""


class InProcess:
    """This process, one chunk after the other."""

    depth = 1

    def submit(self, setting: Setting, chunk: Chunk) -> "Future[Outcomes]":
        """Answer a chunk at once."""
        done: Future[Outcomes] = Future()
        done.set_result(answer_chunk(setting, chunk))
        return done

    def close(self) -> None:
        """Have nothing to close."""


def cores() -> int:
    """Return how many cores this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


class Processes:
    """Worker processes, started afresh: they inherit neither threads nor a solver's state nor a script.

    A chunk whose worker dies is tried once more by a worker of its own; if that one dies too, its jobs are
    answered with a problem.

    Parameters
    ----------
    workers : int
    """

    def __init__(self, workers: int) -> None:
        self.workers, self.depth = workers, workers * (1 + _AHEAD)
        self._lock = threading.Lock()
        self._pool = _pool(workers)
        self._mending = ThreadPoolExecutor(max_workers=1, thread_name_prefix="sweep-mending")

    def submit(self, setting: Setting, chunk: Chunk) -> "Future[Outcomes]":
        """Take on a chunk; a promise does not hold what works on it, so answers go once they are read."""
        promised: Future[Outcomes] = Future()
        begun = self._begin(lambda pool: pool.submit(answer_packed, setting.packed, chunk))
        left = weakref.ref(begun)
        promised.add_done_callback(lambda one: (left() or one).cancel() if one.cancelled() else None)
        begun.add_done_callback(lambda one: self._hand_on(one, promised, setting, chunk))
        return promised

    def _begin(self, start: "Callable[[ProcessPoolExecutor], Future[Outcomes]]") -> "Future[Outcomes]":
        with self._lock, _callers_script_out_of_sight():
            try:
                return start(self._pool)
            except BrokenExecutor:
                self._pool = _pool(self.workers)
                return start(self._pool)

    def _hand_on(
        self, begun: "Future[Outcomes]", promised: "Future[Outcomes]", setting: Setting, chunk: Chunk
    ) -> None:
        if begun.cancelled() or not promised.set_running_or_notify_cancel():
            return
        fault = begun.exception()
        if isinstance(fault, BrokenExecutor):
            self._mending.submit(_tried_alone, promised, setting, chunk)
        elif fault is not None:
            promised.set_exception(fault)
        else:
            promised.set_result(begun.result())

    def close(self) -> None:
        """Take no more; what has not begun is left."""
        self._pool.shutdown(wait=True, cancel_futures=True)
        self._mending.shutdown(wait=True, cancel_futures=True)


@contextmanager
def _callers_script_out_of_sight() -> Iterator[None]:
    """Let processes that start meanwhile not run the script that called: all they need is this package."""
    with _STARTING:
        script = sys.modules["__main__"]
        sys.modules["__main__"] = ModuleType("__main__")
        try:
            yield
        finally:
            sys.modules["__main__"] = script


def _pool(workers: int) -> ProcessPoolExecutor:
    return ProcessPoolExecutor(
        workers, mp_context=multiprocessing.get_context("spawn"), initializer=load_rulebook
    )


def _tried_alone(promised: "Future[Outcomes]", setting: Setting, chunk: Chunk) -> None:
    with _pool(1) as pool:
        try:
            with _callers_script_out_of_sight():
                begun = pool.submit(answer_packed, setting.packed, chunk)
            promised.set_result(begun.result())
        except BrokenExecutor:
            lost = refused(SolverError("The process that worked on this recipe ended before it answered."))
            promised.set_result([lost] * len(chunk))
        except Exception as fault:
            promised.set_exception(fault)


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
