"""Asks for health and corrections beside mixed calls, sweeps and imports of another caller; prints the worst by neighbour.

Usage: python -m tests.soak.beside [short]. Leaves with 1 where health took 0.5 s or a correction 1 s, with 2
where they took it while others worked on the machine: measure on an idle one. Some four minutes, in short half of one.
"""

import os
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

from tests.helpers.server import Served
from tests.soak.promises import computing
from tests.soak.promises.attacker import Attacker
from tests.soak.promises.kept import AT_MOST, Row, another_caller, tried
from tests.soak.promises.largest import all_largest
from tests.soak.promises.run import made

CALLS, CALLERS = 4_000, 4
Work = Callable[[Attacker], float]


def mixed(attacker: Attacker) -> float:
    """Ask for everything from four callers at once."""
    with ThreadPoolExecutor(CALLERS) as callers:
        return max(callers.map(lambda _: computing.mixed(attacker, CALLS // attacker.less), range(CALLERS)))


def largest(attacker: Attacker) -> float:
    """Ask for the most of everything that every task takes."""
    return max(attacker.computing(path, body) for path, body in all_largest())


def at_once(attacker: Attacker) -> float:
    """Do all of it at the same time."""
    works: tuple[Work, ...] = (mixed, computing.swept, computing.unread, computing.imported, largest)
    with ThreadPoolExecutor(len(works)) as callers:
        return max(callers.map(lambda work: work(attacker), works))


NEIGHBOURS: dict[str, Work] = {
    "nobody": lambda _: float(time.sleep(3) or 0),
    "mixed calls of four callers": mixed,
    "a sweep in one body": computing.swept,
    "lines of JSON": computing.unread,
    "a notebook put in, taken out, erased": computing.imported,
    "the most of everything": largest,
    "all of these at once": at_once,
}


def main(*, short: bool) -> int:
    """Print a line for each neighbour; return 1 where one made others wait, 2 where the machine was too busy."""
    words: Counter[str] = Counter()
    with tempfile.TemporaryDirectory() as folder, Served(Path(folder) / "shop.sqlite3") as server:
        first = made(server, "house")
        other = made(server, "other", Authorization=f"Bearer {first}")
        attacker = Attacker(server, first, short=short)
        with another_caller(server, other) as beside:
            for name, work in NEIGHBOURS.items():
                row = Row("nobody waits", name, lambda work=work: work(attacker), float("inf"), "")
                kept = tried(row, beside())
                words[kept.word] += 1
                slowest = ", ".join(
                    f"{kind} {kept.beside.slowest.get(kind, 0.0):.2f} of {most:g} s"
                    for kind, most in AT_MOST.items()
                )
                failed = "; ".join([*kept.beside.failed[:3], *([kept.fault] if kept.fault else [])])
                busy = f"load {os.getloadavg()[0]:.1f}, others on {kept.others.cores:.1f} cores"
                print(f"{kept.word:6} beside {name:38} {slowest}; {busy} {failed}", flush=True)
    return 1 if words["BROKEN"] else 2 * bool(words["unsure"])


if __name__ == "__main__":
    sys.exit(main(short="short" in sys.argv[1:]))
