"""Prints the table of promises; leaves with 1 where one is broken.

Usage: python -m tests.soak.promises [short]. Beside every attack on the shared server another caller asks for health
and for corrections all the time; how long the slowest of these took is printed too, with the load of the machine.
"""

import sys

from tests.soak.promises.run import run


def main(*, short: bool) -> int:
    """Print the table; return 1 where a promise is broken."""
    broken = 0
    for kept in run(short=short):
        broken += not kept.holds()
        print(kept.line(), flush=True)
    return int(broken > 0)


if __name__ == "__main__":
    sys.exit(main(short="short" in sys.argv[1:]))
