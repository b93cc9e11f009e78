"""Kills at work, on both stores: one of each kind; twenty run in the soak."""

from pathlib import Path

import pytest

from tests.soak.kills import WORKS, kills


@pytest.mark.slow
def test_what_was_acknowledged_outlives_kills(place: str, tmp_path: Path) -> None:
    found = kills(place, tmp_path, len(WORKS), seed=7)
    assert found.good, found
    assert (found.kills, sum(found.restores_cut.values())) == (len(WORKS), 1)
    assert found.acknowledged > 5
