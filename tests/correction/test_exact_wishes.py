"""A wish narrower than a step of the recipe is no conflict: the nearest recipe is answered, and by how much it misses."""

import pytest

import advisor
from advisor.errors import NoRecipeFits
from helpers import makers

RECIPES = 300
BLOCKS = 6


@pytest.mark.parametrize("block", range(BLOCKS))
def test_an_exact_strength_is_no_invented_conflict(block: int) -> None:
    met = 0
    for seed in range(block, RECIPES // 5, BLOCKS):
        recipe = makers.recipe(seed)
        own = advisor.assess({"recipe": recipe}).totals.active
        for wanted in (round(own * 2) / 2, round(own) + 0.333):
            body = {"recipe": recipe, "report": makers.report(seed)}
            try:
                answer = advisor.correct({**body, "wishes": {"active": {"min": wanted, "max": wanted}}})
            except NoRecipeFits:
                wider = {"active": {"min": wanted - 0.02, "max": wanted + 0.02}}
                with pytest.raises(NoRecipeFits):
                    advisor.correct({**body, "wishes": wider})
                continue
            check = next(one for one in answer.checks if one.name == "active matter")
            said = any(note.id == "wish-between-steps" for note in answer.notes)
            assert said is not check.ok, seed
            assert check.value == pytest.approx(wanted, abs=0.005), seed
            met += 1
    assert met > 10
