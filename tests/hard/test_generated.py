"""Every operation under 800 generated requests from a fixed seed: each answer is one the description allows."""

from tests.hard.generated import run

ASKED = 1_000


def test_every_answer_is_as_described() -> None:
    tally = run(ASKED)
    assert not tally.failures, "\n".join(tally.failures[:10])
    assert tally.cases >= 800
    assert tally.share_answered >= 0.3
    assert not [status for status in tally.statuses if status >= 500]
