"""The benchmarks say what was missed, and their other solver answers what ours does."""

import pytest

import advisor
from tests.bench.correction import body, problem
from tests.bench.file_solver import by_files
from tests.bench.lines import Line, at_least, at_most, busy_with_others


def test_a_missed_bound_is_called_missed() -> None:
    assert [at_most("a", x, 2.0, "").verdict for x in (2.0, 2.1)] == ["kept", "MISSED"]
    assert [at_least("a", x, 2.0, "").verdict for x in (2.0, 1.9)] == ["kept", "MISSED"]
    assert Line("a", "1").verdict == ""


def test_how_busy_the_machine_is_is_a_number_of_cores() -> None:
    assert 0.0 <= busy_with_others(0.05) < 1000.0


@pytest.mark.filterwarnings("ignore::DeprecationWarning:pulp")
def test_the_solver_by_files_answers_the_same() -> None:
    ours = advisor.correct(body())
    with by_files():
        assert advisor.correct(body()).recipe == ours.recipe


def test_the_measured_program_is_that_of_the_correction() -> None:
    assert len(problem(body()).starts) == 12
    assert len(problem(body(48)).starts) == 60
