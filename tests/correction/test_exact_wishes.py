"""A wish narrower than a step of the recipe is no conflict: the nearest recipe is answered, and by how much it misses."""

from typing import Any

import pytest

import advisor
from advisor.errors import SolverError
from advisor.optimise import rounding
from helpers import exact_wishes, makers

RECIPES = 300
BLOCKS = 6


@pytest.mark.parametrize("block", range(BLOCKS))
def test_an_exact_strength_is_no_invented_conflict(block: int) -> None:
    """A tenth of the recipes; `python -m tests.soak.exact_wishes` asks all three hundred."""
    found = [fault for seed in range(block, RECIPES // 10, BLOCKS) for fault in exact_wishes.faults(seed)]
    assert len(found) == RECIPES // 10 // BLOCKS * 2
    assert not [fault for fault in found if fault]


def _between_steps(seed: int) -> list[str]:
    recipe = makers.recipe(seed)
    wanted = round(advisor.assess({"recipe": recipe}).totals.active) + 0.333333
    body = {"recipe": recipe, "report": makers.report(seed)}
    answer = advisor.correct({**body, "wishes": {"active": {"min": wanted, "max": wanted}}})
    return [note.text for note in answer.notes if note.id == "wish-between-steps"]


def test_a_search_that_stopped_proves_nothing_and_the_answer_claims_nothing(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    whole_search = rounding.search

    def stopping(wanted: Any, rows: Any, *others: Any) -> dict[str, int] | None:
        if all(row.penalty is None for row in rows):
            raise SolverError("The solver ended at its limit of nodes.")
        return whole_search(wanted, rows, *others)

    seeds = [seed for seed in (0, 1, 2, 3, 4, 5) if _between_steps(seed)]
    assert len(seeds) > 3
    for seed in seeds:
        assert all("do not meet it" in text for text in _between_steps(seed))
    monkeypatch.setattr(rounding, "search", stopping)
    for seed in seeds:
        told = _between_steps(seed)
        assert told, seed
        assert all("stopped before" in text and "do not meet it" not in text for text in told), seed
