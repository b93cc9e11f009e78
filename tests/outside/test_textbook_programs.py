"""Published linear programs, through the public function where a maker could ask them, else on the Problem."""

from dataclasses import replace
from itertools import combinations
from typing import Any

import pytest

import advisor
from advisor.optimise.conflict import irreducible
from advisor.optimise.problem import Problem
from advisor.optimise.row import Row
from advisor.optimise.session import Session, optimise


def inline(key: str, composition: dict[str, float], price: float) -> dict[str, Any]:
    return {
        "key": key,
        "name": key,
        "form": "granule",
        "roles": ["filler"],
        "composition": composition,
        "price_per_kg": price,
    }


def test_alloy_of_exact_composition_at_least_cost() -> None:
    """Dantzig, Linear Programming and Extensions (1963), ch. 3.4; the optimum is quoted from memory.

    60 % of the 2nd, 40 % of the 4th, cost 4.98.
    """
    lead = [10, 10, 40, 60, 30, 30, 30, 50, 20]
    zinc = [10, 30, 50, 30, 30, 40, 20, 40, 30]
    tin = [80, 60, 10, 10, 40, 30, 50, 10, 50]
    price = [4.1, 4.3, 5.8, 6.0, 7.6, 7.5, 7.3, 6.9, 7.3]
    materials = [
        inline(f"alloy-{i + 1}", {"lead": lead[i], "zinc": zinc[i], "tin": tin[i]}, price[i])
        for i in range(9)
    ]
    lines = [{"material": f"alloy-{i}", "percent": 11.11} for i in range(1, 9)]
    answer = advisor.correct(
        {
            "recipe": {"lines": [*lines, {"material": "alloy-9", "percent": 11.12}]},
            "report": {"feel": "workable"},
            "wishes": {
                "aim": "lowest_cost",
                "components": {
                    "lead": {"min": 30, "max": 30},
                    "zinc": {"min": 30, "max": 30},
                    "Tin": {"min": 40, "max": 40},
                },
            },
            "materials": materials,
        }
    )
    assert {line.material: line.percent for line in answer.recipe.lines} == {"alloy-2": 60.0, "alloy-4": 40.0}
    assert answer.after.totals.price_per_kg == pytest.approx(4.98)
    assert all(check.ok for check in answer.checks if check.kind != "advice")


def test_feed_mix_at_least_cost() -> None:
    """Taha, Operations Research, ex. 2.2-2: 800 lb cost 437.647 from 470.588 corn and 329.412 soybean meal."""
    answer = advisor.correct(
        {
            "recipe": {"lines": [{"material": "corn", "grams": 400}, {"material": "soy", "grams": 400}]},
            "report": {"feel": "workable"},
            "wishes": {
                "aim": "lowest_cost",
                "components": {"protein": {"min": 30}, "fibre": {"max": 5}},
            },
            "materials": [
                inline("corn", {"protein": 9, "fibre": 2, "rest": 89}, 0.30),
                inline("soy", {"protein": 60, "fibre": 6, "rest": 34}, 0.90),
            ],
        }
    )
    pounds = {line.material: 8 * line.percent for line in answer.recipe.lines}
    assert pounds["corn"] == pytest.approx(470.588, abs=0.08)
    assert pounds["soy"] == pytest.approx(329.412, abs=0.08)
    assert 0.30 * pounds["corn"] + 0.90 * pounds["soy"] == pytest.approx(437.647, abs=0.05)


def test_feed_mix_to_the_last_digit_before_rounding() -> None:
    """Taha, Operations Research, ex. 2.2-2."""
    problem = Problem(
        {"corn": 0.0, "soy": 0.0},
        costs={"corn": 0.30, "soy": 0.90},
        rows=[
            Row("total", {"corn": 1.0, "soy": 1.0}, ">=", 800.0),
            Row("protein", {"corn": 0.09 - 0.30, "soy": 0.60 - 0.30}, ">=", 0.0),
            Row("fibre", {"corn": 0.02 - 0.05, "soy": 0.06 - 0.05}, "<=", 0.0),
        ],
    )
    plan = optimise(problem)
    assert plan is not None
    assert plan.price == pytest.approx(437.647, abs=5e-4)
    assert plan.amounts == pytest.approx({"corn": 470.588, "soy": 329.412}, abs=5e-4)


def furniture() -> Problem:
    return Problem(
        {"x1": 0.0, "x2": 0.0, "x3": 0.0},
        costs={"x1": -60.0, "x2": -30.0, "x3": -20.0},
        rows=[
            Row("lumber", {"x1": 8.0, "x2": 6.0, "x3": 1.0}, "<=", 48.0),
            Row("finishing", {"x1": 4.0, "x2": 2.0, "x3": 1.5}, "<=", 20.0),
            Row("carpentry", {"x1": 2.0, "x2": 1.5, "x3": 0.5}, "<=", 8.0),
            Row("demand", {"x2": 1.0}, "<=", 5.0),
        ],
    )


def test_shadow_prices_by_solving_again() -> None:
    """Winston, Operations Research, ch. 6: 280 at (2, 0, 8); duals 0, 10, 10, 0; reduced cost of x2 5."""
    session = Session(furniture())
    plan = session.solve()
    assert plan is not None
    assert plan.price == pytest.approx(-280.0)
    assert plan.amounts == pytest.approx({"x1": 2.0, "x2": 0.0, "x3": 8.0})
    assert plan.pressing == ("carpentry", "finishing")
    bounds = {"lumber": 48.0, "finishing": 20.0, "carpentry": 8.0, "demand": 5.0}
    gains = {}
    rows = {row.name: row for row in session.problem.rows}
    for name, bound in bounds.items():
        session.restate(replace(rows[name], bound=bound + 0.5))
        eased = session.solve()
        session.restate(rows[name])
        assert eased is not None
        gains[name] = (plan.price - eased.price) / 0.5
    assert gains == pytest.approx(
        {"lumber": 0.0, "finishing": 10.0, "carpentry": 10.0, "demand": 0.0}, abs=1e-9
    )
    problem = furniture()
    forced = optimise(replace(problem, rows=[*problem.rows, Row("forced", {"x2": 1.0}, ">=", 1.0)]))
    assert forced is not None
    assert forced.price - plan.price == pytest.approx(5.0)


def test_weighted_goals() -> None:
    """Hillier and Lieberman, Introduction to Operations Research, goal programming; the optimum is quoted from memory.

    Z 50/3 at (25/3, 0, 5/3).
    """
    goals = [
        Row("profit", {"x1": 12.0, "x2": 9.0, "x3": 15.0}, ">=", 125.0, penalty=5.0),
        Row("employment-over", {"x1": 5.0, "x2": 3.0, "x3": 4.0}, "<=", 40.0, penalty=2.0),
        Row("employment-under", {"x1": 5.0, "x2": 3.0, "x3": 4.0}, ">=", 40.0, penalty=4.0),
        Row("investment", {"x1": 5.0, "x2": 7.0, "x3": 8.0}, "<=", 55.0, penalty=3.0),
    ]
    plan = optimise(Problem({"x1": 0.0, "x2": 0.0, "x3": 0.0}, rows=goals))
    assert plan is not None
    assert plan.price == pytest.approx(50 / 3)
    assert plan.amounts == pytest.approx({"x1": 25 / 3, "x2": 0.0, "x3": 5 / 3}, abs=1e-7)
    assert plan.overshoot["employment-over"] == pytest.approx(25 / 3)


def impossible_rows() -> list[Row]:
    return [
        Row("c1", {"x1": 1.0, "x2": 1.0}, ">=", 10.0),
        Row("c2", {"x1": 1.0, "x3": 1.0}, "<=", 4.0),
        Row("c3:lower", {"x2": 1.0, "x3": 1.0}, ">=", 4.0),
        Row("c3:upper", {"x2": 1.0, "x3": 1.0}, "<=", 5.0),
        Row("x3:lower", {"x3": 1.0}, ">=", 0.0),
        Row("x3:upper", {"x3": 1.0}, "<=", 3.0),
    ]


def shifted(rows: list[Row]) -> Problem:
    """Return the rows over x3 = up - down, so that x3 >= 0 is a demand like any other."""
    free = []
    for row in rows:
        coefficients = dict(row.coefficients)
        if "x3" in coefficients:
            coefficients["x3-down"] = -coefficients["x3"]
        free.append(Row(row.name, coefficients, row.sense, row.bound, row.penalty))
    return Problem({"x1": 0.0, "x2": 0.0, "x3": 0.0, "x3-down": 0.0}, rows=free)


def possible(rows: Any) -> bool:
    return Session(shifted(list(rows))).solve() is not None


def test_irreducible_infeasible_set() -> None:
    """LP procedure manual, ex. 7.4: the only irreducible set is c1, c2, the upper side of c3 and x3 >= 0."""
    rows = impossible_rows()
    wanted = {"c1", "c2", "c3:upper", "x3:lower"}
    assert {row.name for row in irreducible(rows, possible)} == wanted
    assert {row.name for row in irreducible(rows[::-1], possible)} == wanted
    smallest = [
        {row.name for row in some}
        for size in range(1, len(rows) + 1)
        for some in combinations(rows, size)
        if not possible(some) and all(possible([r for r in some if r is not one]) for one in some)
    ]
    assert smallest == [wanted]


def test_least_total_violation_of_the_infeasible_set() -> None:
    """LP procedure manual, ex. 7.4: the least total violation is 1."""
    rows = [replace(r, penalty=1.0) if r.name.startswith("c") else r for r in impossible_rows()]
    plan = optimise(shifted(rows))
    assert plan is not None
    assert plan.price == pytest.approx(1.0)


def drug_production(*, worst: bool) -> Problem:
    low = {"r1": 0.01 * (1 - 0.005), "r2": 0.02 * (1 - 0.02)} if worst else {"r1": 0.01, "r2": 0.02}
    return Problem(
        dict.fromkeys(("r1", "r2", "d1", "d2"), 0.0),
        costs={"r1": 100.0, "r2": 199.9, "d1": -5500.0, "d2": -6100.0},
        rows=[
            Row("agent", {**low, "d1": -0.5, "d2": -0.6}, ">=", 0.0),
            Row("storage", {"r1": 1.0, "r2": 1.0}, "<=", 1000.0),
            Row("labour", {"d1": 90.0, "d2": 100.0}, "<=", 2000.0),
            Row("machines", {"d1": 40.0, "d2": 50.0}, "<=", 800.0),
            Row("budget", {"r1": 100.0, "r2": 199.9, "d1": 700.0, "d2": 800.0}, "<=", 100_000.0),
        ],
    )


@pytest.mark.parametrize(("worst", "objective"), [(False, -8819.658), (True, -8294.567)])
def test_uncertain_active_content(*, worst: bool, objective: float) -> None:
    """Ben-Tal and Nemirovski, drug production: nominal -8819.658, with the worst contents -8294.567."""
    plan = optimise(drug_production(worst=worst))
    assert plan is not None
    assert plan.price == pytest.approx(objective, abs=5e-4)
