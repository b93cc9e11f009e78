"""Every reason is the cause of its move: without it the move goes or shrinks. A seeded tenth; the whole is `python -m tests.soak.causes`."""

import pytest

from helpers import causes, levers, ordinary

BLOCKS = 4


@pytest.mark.parametrize("block", range(BLOCKS))
def test_without_its_cause_a_move_goes_or_shrinks(block: int) -> None:
    told = [
        one for asked in ordinary.tenth(levers.grid, seed=1)[block::BLOCKS] for one in causes.judged(asked)
    ]
    assert not [f"{one.named}: {one.why}" for one in told if not one.holds]
    assert len(told) > 20
