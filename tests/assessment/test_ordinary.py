"""Ordinary recipes meet everything the library knows, in every market: what the grids of the tests stand on."""

import pytest

from advisor import assess
from helpers import ordinary


@pytest.mark.parametrize("one", ordinary.RECIPES, ids=lambda one: one.name)
def test_an_ordinary_recipe_misses_nothing(one):
    assert sum(one.lines.values()) == pytest.approx(100, abs=1e-9)
    for market in ordinary.MARKETS:
        answer = assess({"recipe": one.recipe(), "wishes": {"market": market}})
        assert [check.name for check in answer.checks if not check.ok] == [], market
    assert 0.85 <= answer.consistency.wetness_at_20c <= 1.15
    assert answer.consistency.oil_per_powder <= 0.08
    assert 0.55 <= answer.consistency.watery_share <= 0.85


def test_eight_families_stand_in_the_grid():
    assert len(ordinary.RECIPES) == 20
    assert len(ordinary.one_of_each()) == len(ordinary.FAMILIES) == 8
