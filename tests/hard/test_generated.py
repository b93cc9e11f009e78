"""Every operation under hundreds of generated requests from a fixed seed: each answer is one the description allows."""

from helpers.counts import counted
from tests.hard.generated import run

ASKED = counted(2_000)


def test_every_answer_is_as_described() -> None:
    tally = run(ASKED)
    assert not tally.failures, "\n".join(tally.failures[:10])
    assert tally.cases >= 0.8 * ASKED
    assert tally.share_answered >= 0.3
    assert not [status for status in tally.statuses if status >= 500]
