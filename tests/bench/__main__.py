"""Ratios against SciPy's linear program run side by side: one correction, many columns, one API call.

Prints medians [ms] and ratios. Runs of the two sides alternate, so that a busy machine slows both. Then comes
every figure that must hold (``tests.bench.full``, which takes --write and --long).
"""

import platform
import subprocess
import sys
import time
from collections.abc import Callable
from typing import Any

import advisor
from tests.bench import full, learning
from tests.bench.correction import TWELVE, body, problem, same_program, side_by_side


def report(name: str, one: Callable[[], Any], other: Callable[[], Any], runs: int = 200) -> None:
    """Print one line of the table."""
    one(), other()
    mine, reference, ratio = side_by_side(one, other, runs)
    print(f"{name:<44} {mine:9.2f} {reference:9.2f} {ratio:7.2f}")


def main() -> None:
    """Print the table."""
    print(f"{platform.machine()}, Python {platform.python_version()}; medians in ms, each pair interleaved")
    print(f"{'':<44} {'ours':>9} {'linprog':>9} {'ratio':>7}")
    for shelf in (0, 48):
        asked = body(shelf)
        reference = same_program(problem(asked))
        report(f"correction, {len(TWELVE) + shelf} materials", lambda a=asked: advisor.correct(a), reference)
    asked = body()
    reference = same_program(problem(asked))
    from fastapi.testclient import TestClient

    from api.app import create_app

    with TestClient(create_app()) as client:
        call = lambda: client.post("/v1/corrections", json=asked)  # noqa: E731
        report("correction through the API, in process", call, reference)
    sample = "samples/wet-betaine-dough.json"
    command = [sys.executable, "-m", "advisor", "correct", sample]
    start = time.perf_counter()
    subprocess.run(command, check=True, capture_output=True)
    print(f"{'command line, one correction, whole process':<44} {1e3 * (time.perf_counter() - start):9.0f}")
    learning.main()
    full.main(sys.argv[1:])


if __name__ == "__main__":
    main()
