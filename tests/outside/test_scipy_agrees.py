"""The program against scipy.optimize.linprog(method="highs"): same objective, same verdict on feasibility."""

import random
from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import linprog

from advisor.case.case import Case
from advisor.correction.task import _Correction
from advisor.optimise.problem import Problem
from advisor.optimise.row import Row
from advisor.optimise.session import Session
from advisor.recipe.request import known_materials, read_formula
from advisor.rulebook.load import load_rulebook
from advisor.schema.recipe import Recipe, Report, Wishes
from helpers import makers
from helpers.counts import counted

GENERATED = counted(1_500)
pytestmark = pytest.mark.slow


def judged_by_scipy(problem: Problem) -> tuple[bool, float]:
    """Solve with columns x, |move| and violation of its own, written out from the definition of a problem."""
    keys = list(problem.starts)
    soft = [row for row in problem.rows if row.penalty is not None]
    n = len(keys)
    costs = np.zeros(2 * n + len(soft))
    for i, key in enumerate(keys):
        costs[i] = problem.costs.get(key, 0.0)
        costs[n + i] = problem.weights.get(key, 0.0)
    above, above_by, equal, equal_to = [], [], [], []
    for i, key in enumerate(keys):
        for sign in (1.0, -1.0):
            line = np.zeros(len(costs))
            line[i], line[n + i] = sign, -1.0
            above.append(line)
            above_by.append(sign * problem.starts[key])
    for row in problem.rows:
        line = np.zeros(len(costs))
        for i, key in enumerate(keys):
            line[i] = row.coefficients.get(key, 0.0)
        if row.sense == "=":
            equal.append(line)
            equal_to.append(row.bound)
            continue
        sign = 1.0 if row.sense == "<=" else -1.0
        line *= sign
        if row.penalty is not None:
            place = 2 * n + soft.index(row)
            line[place], costs[place] = -1.0, row.penalty
        above.append(line)
        above_by.append(sign * row.bound)
    found = linprog(
        costs,
        A_ub=np.array(above),
        b_ub=np.array(above_by),
        A_eq=np.array(equal) if equal else None,
        b_eq=np.array(equal_to) if equal else None,
        bounds=(0, None),
        method="highs",
    )
    return found.status == 0, float(found.fun) if found.status == 0 else float("nan")


def generated(seed: int) -> Problem:
    """Return a problem of 4 to 24 materials with bands over random sums, some of them impossible."""
    rng = random.Random(seed)
    keys = [f"m{i:02d}" for i in range(rng.randint(4, 24))]
    parts = [rng.uniform(0.2, 10) if rng.random() < 0.7 else 0.0 for _ in keys]
    starts = {key: 100 * part / (sum(parts) or 1.0) for key, part in zip(keys, parts, strict=True)}
    rows = [Row("total", dict.fromkeys(keys, 1.0), "=", 100.0)]
    for number in range(rng.randint(2, 14)):
        over = {key: rng.uniform(0, 1) for key in keys if rng.random() < 0.5}
        if not over:
            continue
        now = Row("", over, "<=", 0.0).value(starts)
        low = now + rng.uniform(-8, 6)
        rows.append(Row(f"b{number}:min", over, ">=", low, penalty=1000.0 if rng.random() < 0.2 else None))
        rows.append(Row(f"b{number}:max", over, "<=", low + rng.uniform(0, 6)))
    rows += [Row(f"line:{key}", {key: 1.0}, "<=", rng.uniform(0, 30)) for key in rng.sample(keys, 3)]
    return Problem(starts, weights={key: rng.uniform(0.5, 4) for key in keys}, rows=rows)


@pytest.mark.parametrize("block", range(10))
def test_generated_problems_have_scipys_optimum_and_verdict(block: int) -> None:
    feasible = 0
    for seed in range(block * GENERATED // 10, (block + 1) * GENERATED // 10):
        problem = generated(seed)
        possible, objective = judged_by_scipy(problem)
        plan = Session(problem).solve()
        assert (plan is not None) == possible, seed
        if plan is not None:
            feasible += 1
            assert plan.price == pytest.approx(objective, abs=1e-6, rel=1e-6), seed
    assert GENERATED // 75 < feasible < GENERATED // 10


def corrections(seed: int) -> Problem:
    """Return the problem of a generated correction."""
    rules = load_rulebook()
    recipe = Recipe.model_validate(makers.recipe(seed))
    known = known_materials(None, rules)
    report = Report.model_validate(makers.report(seed))
    case = Case.at(
        read_formula(recipe, known),
        known,
        wishes=Wishes.model_validate(makers.wishes(seed)),
        report=report,
        history=None,
    )
    correction = _Correction(case, report)
    return correction._program(correction._target()).problem()


def test_corrections_have_scipys_optimum_and_verdict() -> None:
    for seed in range(counted(600)):
        problem = replace(corrections(seed), mover_fee=0.0, newcomer_fee=0.0)
        possible, objective = judged_by_scipy(problem)
        plan = Session(problem).solve()
        assert (plan is not None) == possible, seed
        if plan is not None:
            assert plan.price == pytest.approx(objective, abs=1e-6, rel=1e-6), seed
