"""One figure of the benchmarks, whether it is what was promised, and how busy the machine is with other things."""

import os
import time
from dataclasses import dataclass
from pathlib import Path

WATCHED_SECONDS = 2.0


@dataclass(frozen=True)
class Line:
    """What was measured, what it came to, what it must be, and whether it is; None where nothing was promised."""

    what: str
    figure: str
    must: str = ""
    kept: bool | None = None

    @property
    def verdict(self) -> str:
        """The word for the table."""
        return {None: "", True: "kept", False: "MISSED"}[self.kept]


def at_most(what: str, figure: float, most: float, told: str, unit: str = "") -> Line:
    """Return a line that is kept where the figure is no more than was promised."""
    return Line(what, told, f"at most {most:g}{unit}", figure <= most)


def at_least(what: str, figure: float, least: float, told: str, unit: str = "") -> Line:
    """Return a line that is kept where the figure is no less than was promised."""
    return Line(what, told, f"at least {least:g}{unit}", figure >= least)


def busy_with_others(seconds: float = WATCHED_SECONDS) -> float:
    """Return how many cores work while nothing is measured [-]."""
    before = _idle()
    began = time.monotonic()
    time.sleep(seconds)
    passed = time.monotonic() - began
    return max(0.0, (os.cpu_count() or 1) - (_idle() - before) / passed)


def _idle() -> float:
    """Return for how long the cores have idled so far [s]."""
    fields = Path("/proc/stat").read_text(encoding="ascii").splitlines()[0].split()
    return (int(fields[4]) + int(fields[5])) / os.sysconf("SC_CLK_TCK")
