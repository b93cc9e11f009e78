"""What came of an attack, and how another caller fared beside it."""

import multiprocessing
import os
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager, nullcontext
from dataclasses import dataclass, field
from multiprocessing.connection import Connection
from typing import Any, NamedTuple

import httpx

from tests.helpers import makers
from tests.helpers.others import Others, watched
from tests.helpers.server import Served

AT_MOST = {"health": 0.5, "correction": 1.0}
_ANY_TIME = 1e9


class Row(NamedTuple):
    """An attack: what does it, and the most that was promised of the figure it returns.

    ``alone``: no other caller asks meanwhile, whose calls would be counted in the computing.
    """

    promise: str
    attack: str
    act: Callable[[], float]
    most: float
    unit: str
    alone: bool = False


@dataclass
class Beside:
    """Another caller: how long the slowest of its calls took [s], by kind."""

    slowest: dict[str, float] = field(default_factory=dict)
    failed: list[str] = field(default_factory=list)

    def slow(self, patience: float = 1.0) -> bool:
        """Tell whether a call took longer than was promised, times so much."""
        return any(seconds > patience * AT_MOST[kind] for kind, seconds in self.slowest.items())


@dataclass(frozen=True)
class Kept:
    """What came of one attack."""

    row: Row
    figure: float
    beside: Beside
    fault: str = ""
    others: Others = field(default_factory=Others)

    @property
    def word(self) -> str:
        """What came of it; a clock that ran while others worked on the machine breaks no promise and keeps none."""
        if self.holds():
            return "kept"
        return "unsure" if self.others.busy and self.holds(_ANY_TIME) else "BROKEN"

    def holds(self, patience: float = 1.0) -> bool:
        """Whether the figure stays within what was promised, and nobody else was shut out."""
        most = self.row.most * (patience if self.row.unit == "s" else 1.0)
        return (
            not self.fault
            and self.figure <= most
            and not self.beside.failed
            and not self.beside.slow(patience)
        )

    def line(self) -> str:
        """Return it as a line of the table, with the load at which it was taken."""
        beside = "".join(f", {kind} {seconds:.2f} s" for kind, seconds in self.beside.slowest.items())
        failed = f"; failed: {self.beside.failed[:3]}" if self.beside.failed else ""
        failed += f"; {self.fault}" if self.fault else ""
        told = f"{self.figure:8.2f} of {self.row.most:g} {self.row.unit}"
        busy = f"load {os.getloadavg()[0]:.0f}, others on {self.others.cores:.1f} cores"
        return f"{self.word:6} {self.row.promise:40} {self.row.attack:52} {told}; {busy}{beside}{failed}"


def tried(row: Row, beside: AbstractContextManager[Beside] | None = None) -> Kept:
    """Make an attack; one that ends in an error is a broken promise, and the next is still made."""
    figure, fault = 0.0, ""
    with watched() as others, nullcontext(Beside()) if beside is None else beside as caller:
        try:
            figure = row.act()
        except Exception as error:
            fault = f"{type(error).__name__}: {str(error)[:300]}"
    return Kept(row, figure, caller, fault, others)


@contextmanager
def another_caller(server: Served, key: str) -> Iterator[Callable[[], AbstractContextManager[Beside]]]:
    """Give what asks for health and, by itself, for a correction again and again until an attack is over.

    It is a process of its own: in this one it would wait for what the attack makes and reads itself. The same
    one asks beside every attack, over connections that are new each time.
    """
    processes = multiprocessing.get_context("spawn")
    here, there = processes.Pipe()
    asking = processes.Process(target=_ask_when_told, args=(server.url, key, there), daemon=True)
    asking.start()
    there.close()

    @contextmanager
    def beside_it() -> Iterator[Beside]:
        beside = Beside()
        here.send("begin")
        here.recv()
        try:
            yield beside
        finally:
            here.send("over")
            beside.slowest, beside.failed = here.recv()

    try:
        yield beside_it
    finally:
        here.send("end")
        asking.join()


def _ask_when_told(url: str, key: str, told: Connection) -> None:
    """Ask beside one attack after the other until a word says that it was the last."""
    while told.recv() == "begin":
        _ask_all(url, key, told)


def _ask_all(url: str, key: str, told: Connection) -> None:
    """Ask in two threads until the attack is over, and send what came of it."""
    slowest: dict[str, float] = {}
    failed: list[str] = []
    over = threading.Event()
    body = {"recipe": makers.recipe(1), "report": makers.report(1)}

    def ask(kind: str, method: str, path: str, **options: Any) -> None:
        headers = {"Authorization": f"Bearer {key}"}
        with httpx.Client(base_url=url, timeout=60, headers=headers, trust_env=False) as client:
            while not over.is_set():
                began = time.monotonic()
                try:
                    status = client.request(method, path, **options).status_code
                except httpx.HTTPError as error:
                    if not over.is_set():
                        failed.append(f"{kind} {type(error).__name__}")
                    continue
                if status != 200:
                    failed.append(f"{kind} {status}")
                slowest[kind] = max(slowest.get(kind, 0.0), time.monotonic() - began)
                time.sleep(0.02)

    asking = [
        threading.Thread(target=ask, args=args, kwargs=more, daemon=True)
        for args, more in (
            (("health", "GET", "/health"), {}),
            (("correction", "POST", "/v1/corrections"), {"json": body}),
        )
    ]
    for one in asking:
        one.start()
    time.sleep(0.2)
    told.send("begun")
    told.recv()
    over.set()
    for one in asking:
        one.join()
    told.send((slowest, failed))
