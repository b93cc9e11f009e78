"""A coarse balance does what the finest would, within one of its steps."""

import pytest

from helpers.coarse_balances import COARSE, worst_steps_off

BOWLS = 1_000
TENTH = 100


@pytest.mark.parametrize("step", COARSE)
def test_a_tenth_of_the_bowls_is_within_one_step_of_the_finest_balance(step: float) -> None:
    by_line, by_sum = worst_steps_off(range(0, BOWLS, BOWLS // TENTH), step)
    assert by_line <= 1.0
    assert by_sum <= 1.0 + 1e-6
