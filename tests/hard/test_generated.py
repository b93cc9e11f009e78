"""Every operation under hundreds of generated requests from fixed seeds: each answer is one the description allows."""

import pytest

from helpers.counts import counted
from tests.hard.generated import SEED, run, walk

ASKED = counted(1_000)
SEEDS = (SEED, SEED + 1)


@pytest.mark.parametrize("start", SEEDS)
def test_every_answer_is_as_described(start: int) -> None:
    tally = run(ASKED, start)
    assert not tally.failures, "\n".join(tally.failures[:10])
    assert tally.cases >= 0.8 * ASKED
    assert tally.share_answered >= 0.3
    assert not [status for status in tally.statuses if status >= 500]


@pytest.mark.slow
@pytest.mark.parametrize("start", SEEDS)
def test_what_was_made_is_read_changed_and_erased_along_links(start: int) -> None:
    assert walk(counted(10), start) == []
