"""The promises of the server hold under attack: the short form of ``python -m tests.soak.promises``.

Times are four times as long as promised, since other work shares the machine of the tests.
"""

import pytest

from tests.soak.promises import CORRECTION_SECONDS, HEALTH_SECONDS, run

SHARED_MACHINE = 4.0


@pytest.mark.slow
def test_every_promise_holds_under_its_attack() -> None:
    for kept in run(short=True):
        longest = kept.most * (SHARED_MACHINE if kept.unit == "s" else 1.0)
        assert kept.figure <= longest, kept.line()
        assert not kept.beside.failed, kept.line()
        assert kept.beside.slowest["health"] < SHARED_MACHINE * HEALTH_SECONDS, kept.line()
        assert kept.beside.slowest["correction"] < SHARED_MACHINE * CORRECTION_SECONDS, kept.line()
