"""Small programs of every kind against scipy.optimize.milp: same verdict, same objective, and no verdict where there is no least."""

import random
from itertools import product

import pytest
from scipy.optimize import Bounds, LinearConstraint, milp

from advisor.errors import SolverError
from advisor.optimise.addition import Addition, Option, least_addition
from advisor.optimise.row import Row
from advisor.optimise.solver import INFINITY, LinearProgram, Model
from helpers.counts import counted

GENERATED = counted(3_000)
OPTIMAL, INFEASIBLE, UNBOUNDED = 0, 2, 3


def generated(seed: int, *, whole: bool) -> LinearProgram:
    """Return a program of at most four columns and rows, often without a least or without any answer."""
    rng = random.Random(seed)
    program, columns = LinearProgram(), rng.randint(0, 4)
    for _ in range(columns):
        program.column(
            rng.choice([-1.0, 0.0, 1.0, 2.0]),
            rng.choice([0.0, -INFINITY]),
            rng.choice([INFINITY, 5.0]),
            whole=whole and rng.random() < 0.5,
        )
    for _ in range(rng.randint(0, 4)):
        bound = float(rng.randint(-4, 4))
        coefficients = {column: float(rng.randint(-2, 2)) for column in range(columns)}
        program.row(coefficients, *rng.choice([(bound, INFINITY), (-INFINITY, bound), (bound, bound)]))
    return program


def judged(program: LinearProgram) -> tuple[int, float]:
    """Return what scipy says of a program; one without columns holds where each of its rows does."""
    if not program.costs:
        return (OPTIMAL if all(low <= 0 <= high for _, low, high in program.rows) else INFEASIBLE), 0.0
    columns = range(len(program.costs))
    rows = [
        LinearConstraint([row.get(i, 0.0) for i in columns], low, high) for row, low, high in program.rows
    ]
    kinds, within = [int(i in program.integers) for i in columns], Bounds(program.lower, program.upper)
    found = milp(program.costs, integrality=kinds, bounds=within, constraints=rows)
    if found.status == 4:
        found = milp(
            program.costs, integrality=kinds, bounds=within, constraints=rows, options={"presolve": False}
        )
    return found.status, found.fun


def bottomless(program: LinearProgram) -> bool:
    """Tell whether the columns alone set no least price."""
    ends = zip(program.costs, program.lower, program.upper, strict=True)
    return any(cost and (low if cost > 0 else high) in (-INFINITY, INFINITY) for cost, low, high in ends)


@pytest.mark.parametrize("whole", [False, True])
def test_programs_have_scipys_verdict_and_objective(whole: bool) -> None:
    """No verdict is given where there is no least, nor, of whole columns, where there may be none."""
    seen = set()
    for seed in range(GENERATED):
        program = generated(seed, whole=whole)
        verdict, objective = judged(program)
        try:
            solution = Model(program).solve()
        except SolverError:
            assert bottomless(program), seed
            assert verdict != OPTIMAL and (verdict == UNBOUNDED or program.integers), seed
        else:
            assert (verdict == OPTIMAL) if solution.feasible else (verdict == INFEASIBLE), seed
            assert not solution.feasible or solution.objective == pytest.approx(objective, abs=1e-6), seed
        seen.add(verdict)
    assert seen >= {OPTIMAL, INFEASIBLE, UNBOUNDED}


@pytest.mark.parametrize(("low", "high"), [(low, high) for low, high in product(range(-3, 4), repeat=2)])
def test_a_row_has_one_bound_or_two_that_are_equal(low: int, high: int) -> None:
    program = LinearProgram()
    coefficients = {program.column(1.0, -9.0, 9.0): 1.0}
    if low != high:
        with pytest.raises(ValueError, match="two rows"):
            program.row(coefficients, float(low), float(high))
    else:
        program.row(coefficients, float(low), float(high))
        assert Model(program).solve().values == [float(low)]


@pytest.mark.parametrize("penalty", [0.0, 0.5, 100.0])
def test_no_equation_is_missed_at_a_price(penalty: float) -> None:
    with pytest.raises(ValueError, match="two rows"):
        Row("strength", {"strong": 1.0}, "=", 30.0, penalty=penalty)
    with pytest.raises(ValueError, match="two rows"):
        Row("strength", {"strong": 1.0}, "=", 30.0).priced(penalty)


@pytest.mark.parametrize("base", [0.0, 10.0, 20.0, 40.0])
def test_no_equation_is_what_an_addition_may_miss(base: float) -> None:
    row = Row("half", {"strong": 0.5, "water": -0.5}, "=", 0.0)
    water = [Option("water", {"water": 1.0}, 1.0)]
    with pytest.raises(ValueError, match="two rows"):
        least_addition(Addition({"strong": base, "water": 20.0}, water, groups=[[row]]))
    added = least_addition(Addition({"strong": base, "water": 20.0}, water, hard=[row]))
    assert (added is None) == (base < 20.0)
    assert added is None or added.total == pytest.approx(base - 20.0)
