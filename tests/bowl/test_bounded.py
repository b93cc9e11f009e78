"""Additions and recoveries take a bounded number of solver runs, however long the recipe."""

from typing import Any

import pytest

import advisor
from advisor.optimise import solver
from helpers.long_recipes import failed_bowl, over_weighed

RUNS_AT_MOST = 80
SIMPLEX_STEPS_AT_MOST = 20_000


@pytest.fixture
def work(monkeypatch: pytest.MonkeyPatch) -> dict[str, int]:
    """Count the runs of the solver, their steps, and the programs with whole columns."""
    counted = {"runs": 0, "steps": 0, "whole": 0}
    plain_init, plain_run = solver.Model.__init__, solver.Model._run

    def init(self: solver.Model, program: solver.LinearProgram) -> None:
        counted["whole"] += bool(program.integers)
        plain_init(self, program)

    def run(self: solver.Model) -> Any:
        status = plain_run(self)
        counted["runs"] += 1
        counted["steps"] += max(0, self._solver.getInfo().simplex_iteration_count)
        return status

    monkeypatch.setattr(solver.Model, "__init__", init)
    monkeypatch.setattr(solver.Model, "_run", run)
    return counted


@pytest.mark.parametrize("lines", [12, 60, 200])
@pytest.mark.parametrize("seed", range(3))
def test_a_recovery_is_a_bounded_number_of_small_programs(
    work: dict[str, int], lines: int, seed: int
) -> None:
    answer = advisor.recover(over_weighed(lines, seed))
    assert work["runs"] <= RUNS_AT_MOST
    assert work["steps"] <= SIMPLEX_STEPS_AT_MOST
    assert not work["whole"]
    assert answer.exact.additions


@pytest.mark.parametrize("lines", [12, 60, 200])
@pytest.mark.parametrize("seed", range(3))
def test_an_addition_is_a_bounded_number_of_small_programs(
    work: dict[str, int], lines: int, seed: int
) -> None:
    answer = advisor.add(failed_bowl(lines, seed))
    assert work["runs"] <= RUNS_AT_MOST
    assert work["steps"] <= SIMPLEX_STEPS_AT_MOST
    assert not work["whole"]
    assert answer.advice


def test_what_is_not_proved_the_smallest_says_so() -> None:
    notes = [{note.id for note in advisor.recover(over_weighed(60, seed)).notes} for seed in range(6)]
    assert any("not-proved" in found for found in notes)
    few = advisor.recover(over_weighed(8, 1))
    assert "not-proved" not in {note.id for note in few.notes}
