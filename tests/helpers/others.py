"""How many cores work on what is not ours while something is measured."""

import os
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

BUSY_CORES = 0.15
_SHORTEST = 0.5
_TICKS = os.sysconf("SC_CLK_TCK")


class Others:
    """What others worked meanwhile [cores]; 0 where it was too short to tell."""

    cores = 0.0

    @property
    def busy(self) -> bool:
        """Whether a clock says little of what was measured."""
        return self.cores > BUSY_CORES


@contextmanager
def watched() -> Iterator[Others]:
    """Find out how much others work, this process and all it started apart."""
    others, began, before = Others(), time.monotonic(), _worked() - ours(os.getpid())
    try:
        yield others
    finally:
        passed = time.monotonic() - began
        if passed >= _SHORTEST:
            others.cores = max(0.0, (_worked() - ours(os.getpid()) - before) / passed)


def _worked() -> float:
    """Return how long all cores have worked so far [s]."""
    fields = Path("/proc/stat").read_text(encoding="ascii").splitlines()[0].split()
    user, nice, system, _, _, irq, softirq, steal = map(int, fields[1:9])
    return (user + nice + system + irq + softirq + steal) / _TICKS


def ours(process: int) -> float:
    """Return how long a process, what it waited for and what it started have worked so far [s]."""
    worked = 0.0
    with suppress(OSError):
        fields = Path(f"/proc/{process}/stat").read_text(encoding="ascii").rpartition(")")[2].split()
        worked = sum(map(int, fields[11:15])) / _TICKS
        for task in Path(f"/proc/{process}/task").glob("*/children"):
            worked += sum(map(ours, map(int, task.read_text(encoding="ascii").split())))
    return worked
