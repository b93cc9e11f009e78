"""Prints the table of promises; leaves with 1 where one is broken, with 2 where the machine was too busy to tell.

Usage: python -m tests.soak.promises [short] [ROW ...]; a ROW is a part of a promise or of an attack as the table names
them, and of such rows no others are tried. Beside every attack on the shared server another caller asks for health and
for corrections all the time; how long the slowest of these took is printed too, with the load of the machine and how
many cores others worked on meanwhile. What was late while others worked is unsure: ask again on an idle machine.
"""

import sys
import time
from collections import Counter
from collections.abc import Sequence

from tests.soak.promises.run import run


def main(named: Sequence[str], *, short: bool) -> int:
    """Print the table; return 1 where a promise is broken, 2 where one is unsure."""
    words: Counter[str] = Counter()
    began = time.monotonic()
    for kept in run(short=short, named=named):
        words[kept.word] += 1
        print(kept.line(), flush=True)
    told = ", ".join(f"{count} {word}" for word, count in words.items())
    print(f"{told}; {(time.monotonic() - began) / 60:.0f} minutes")
    return 1 if words["BROKEN"] else 2 * bool(words["unsure"])


if __name__ == "__main__":
    words = sys.argv[1:]
    sys.exit(main([word for word in words if word != "short"], short="short" in words))
