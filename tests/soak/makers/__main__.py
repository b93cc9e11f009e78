"""Let invented makers of every world learn their doughs, and write what came of it.

Usage: python -m tests.soak.makers [--makers 100] [--workers 2] [--output docs/learning.md]. Ends with 1 where a maker
without noise never gets a workable dough, or this tool stays behind a rule of thumb by more than 0.02 at a dough that
is told. A thousand makers take two idle cores a quarter of an hour to half of one; each world is told when it is done.
"""

import argparse
import sys
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from multiprocessing import get_context
from pathlib import Path

from .course import courses
from .report import beginning, world_told
from .worlds import FIRST_SEED, NOISELESS, WORLDS


def main() -> int:
    """Run, write, and judge."""
    asked = argparse.ArgumentParser()
    asked.add_argument("--makers", type=int, default=100)
    asked.add_argument("--workers", type=int, default=2)
    asked.add_argument("--output", type=Path)
    options = asked.parse_args()
    every = (*WORLDS, NOISELESS)
    with ProcessPoolExecutor(options.workers, get_context("spawn")) as workers:
        found = {}
        for world, one in zip(every, workers.map(partial(courses, count=options.makers), every), strict=True):
            found[world] = one
            sys.stderr.write(f"{world.name} is done\n")
    head, faults = beginning(found, options.makers, FIRST_SEED)
    text = "\n".join([head, *(world_told(world, *one) for world, one in found.items())])
    if options.output:
        options.output.write_text(text, encoding="utf-8")
    else:
        sys.stdout.write(text)
    sys.stderr.write("".join(f"missed: {one}\n" for one in faults))
    return int(bool(faults))


if __name__ == "__main__":
    sys.exit(main())
