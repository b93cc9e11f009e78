"""How many generated cases a run takes: a seeded tenth in the tests, every one of them in the soak."""

import os

EVERY = bool(os.environ.get("DOUGH_EVERY_CASE"))
_SHARE = 10


def counted(cases: int) -> int:
    """Return how many of so many cases this run takes, always the first of them."""
    return cases if EVERY else cases // _SHARE
