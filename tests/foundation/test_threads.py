"""Threads of one process do not hold each other up."""

import subprocess
import sys
import threading

from advisor.frozen import cached_property

STARTED = """
import os, sys
from advisor.cli.main import main
loaded_before = "numpy" in sys.modules
main(["check", "no-such-file.json"])
print(loaded_before, "numpy" in sys.modules, os.environ["OPENBLAS_NUM_THREADS"])
"""


def test_a_value_that_takes_long_in_one_thread_holds_up_no_other_object() -> None:
    begun, go_on = threading.Event(), threading.Event()

    class Calculation:
        def __init__(self, *, long: bool) -> None:
            self.long = long
            self.times = 0

        @cached_property
        def value(self) -> int:
            self.times += 1
            if self.long:
                begun.set()
                assert go_on.wait(30)
            return self.times

    long, short = Calculation(long=True), Calculation(long=False)
    working = threading.Thread(target=lambda: long.value)
    working.start()
    assert begun.wait(30)
    asking = threading.Thread(target=lambda: short.value)
    asking.start()
    asking.join(10)
    held_up = asking.is_alive()
    go_on.set()
    working.join()
    assert not held_up
    assert (long.value, long.value, short.value) == (1, 1, 1)


def test_a_command_computes_in_one_thread() -> None:
    """A served calculation of 1.3 s took 7 s of computing, and 30 s on a busy machine, in two."""
    environment = {"PATH": ""}
    run = subprocess.run(
        [sys.executable, "-c", STARTED], env=environment, capture_output=True, text=True, check=True
    )
    assert run.stdout.split()[-3:] == ["False", "True", "1"]
