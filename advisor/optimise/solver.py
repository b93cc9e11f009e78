"""Knows PuLP and its in-process solver: a plain linear program in, plain solutions out."""

import threading
from collections.abc import Mapping, Sequence
from itertools import accumulate, chain
from typing import Any

import highspy
import pulp

from advisor.errors import SolverError
from advisor.frozen import dataclass, field
from advisor.optimise.row import Row

INFINITY = float("inf")
_IDLE_AT_MOST = 4
_NODE_LIMIT = 20_000
_DUAL_SIMPLEX, _PRIMAL_SIMPLEX = 1, 4
_OPTIONS = {
    "primal_feasibility_tolerance": 1e-9,
    "dual_feasibility_tolerance": 1e-9,
    "mip_feasibility_tolerance": 1e-9,
    "mip_max_nodes": _NODE_LIMIT,
    "random_seed": 0,
}


@dataclass(slots=True)
class LinearProgram:
    """Minimise ``costs @ columns`` within column and row bounds.

    ``rows`` hold (coefficients by column index, lower, upper), one-sided or equal; ``integers`` the indices
    of whole columns.
    """

    costs: list[float] = field(default_factory=list)
    lower: list[float] = field(default_factory=list)
    upper: list[float] = field(default_factory=list)
    rows: list[tuple[Mapping[int, float], float, float]] = field(default_factory=list)
    integers: set[int] = field(default_factory=set)

    def column(self, cost: float, lower: float = 0.0, upper: float = INFINITY, *, whole: bool = False) -> int:
        """Add a column and return its index."""
        self.costs.append(cost)
        self.lower.append(lower)
        self.upper.append(upper)
        index = len(self.costs) - 1
        if whole:
            self.integers.add(index)
        return index

    def row(self, coefficients: Mapping[int, float], lower: float, upper: float) -> int:
        """Add a row with one bound, or two that are equal, and return its index.

        Raises
        ------
        ValueError
            The row has two bounds.
        """
        if lower != upper and lower > -INFINITY and upper < INFINITY:
            raise ValueError(f"A row between {lower} and {upper} is two rows.")
        self.rows.append((coefficients, lower, upper))
        return len(self.rows) - 1

    def load(
        self, row: Row, coefficients: dict[int, float], there: float, price: float | None = None
    ) -> int | None:
        """Add a row over amounts, told by columns; return the column of what it is missed by, if it may be.

        ``there`` is what the row comes to while every column is 0, ``price`` what a unit missed costs.
        """
        missed = None if price is None else self.column(price)
        if missed is not None:
            coefficients[missed] = -1.0 if row.sense == "<=" else 1.0
        self.row(coefficients, row.lower - there, row.upper - there)
        return missed

    def few(self, limits: Mapping[int, float], most: int) -> None:
        """Let at most so many of some columns be above 0, each up to its limit."""
        chosen: dict[int, float] = {}
        for column, limit in limits.items():
            taken = self.column(0.0, 0.0, 1.0, whole=True)
            self.row({column: 1.0, taken: -limit}, -INFINITY, 0.0)
            chosen[taken] = 1.0
        if chosen:
            self.row(chosen, -INFINITY, float(most))


@dataclass(frozen=True, slots=True)
class Solution:
    """A proved answer of the solver; where nothing is ``feasible`` there are no values."""

    feasible: bool
    values: Sequence[float] = ()
    objective: float = INFINITY
    row_duals: Sequence[float] = ()


_FEASIBLE = {highspy.HighsModelStatus.kOptimal: True, highspy.HighsModelStatus.kInfeasible: False}
"""What a run proves: that there is no least, or perhaps no answer, proves nothing."""


def _as_pulp(program: LinearProgram) -> tuple[Any, list[Any]]:
    """Return a program as a problem of PuLP, with its columns in their order."""
    problem: Any = pulp.LpProblem("dough", pulp.LpMinimize)
    columns = [
        problem.add_variable(
            f"x{index:05d}",
            None if lower == -INFINITY else lower,
            None if upper == INFINITY else upper,
            pulp.LpInteger if index in program.integers else pulp.LpContinuous,
        )
        for index, (lower, upper) in enumerate(zip(program.lower, program.upper, strict=True))
    ]
    problem.setObjective(pulp.LpAffineExpression(zip(columns, program.costs, strict=True)))
    for index, (coefficients, lower, upper) in enumerate(program.rows):
        if lower == upper:
            sense, bound = pulp.LpConstraintEQ, lower
        elif upper == INFINITY:
            sense, bound = pulp.LpConstraintGE, lower
        else:
            sense, bound = pulp.LpConstraintLE, upper
        left = pulp.LpAffineExpression([(columns[i], c) for i, c in coefficients.items() if c])
        problem.addConstraint(pulp.LpConstraint(left, sense, None, bound), f"r{index:05d}")
    return problem, columns


def _loaded(problem: Any, columns: Sequence[Any]) -> Any:
    """Return a problem of PuLP as the solver takes it, all at once; columns and rows keep their order."""
    constraints = problem.constraints()
    rows = [one.expr for one in constraints]
    index = {id(column): at for at, column in enumerate(columns)}
    whole = any(column.cat == pulp.LpInteger for column in columns)
    lp = highspy.HighsLp()
    lp.num_col_, lp.num_row_ = len(columns), len(rows)
    lp.col_cost_ = list(problem.objective.values())
    lp.col_lower_ = [-INFINITY if column.lowBound is None else column.lowBound for column in columns]
    lp.col_upper_ = [INFINITY if column.upBound is None else column.upBound for column in columns]
    lp.row_lower_ = [-INFINITY if (low := one.getLb()) is None else low for one in constraints]
    lp.row_upper_ = [INFINITY if (high := one.getUb()) is None else high for one in constraints]
    lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    lp.a_matrix_.num_col_, lp.a_matrix_.num_row_ = len(columns), len(rows)
    lp.a_matrix_.start_ = [0, *accumulate(map(len, rows))]
    lp.a_matrix_.index_ = list(map(index.__getitem__, map(id, chain.from_iterable(rows))))
    lp.a_matrix_.value_ = list(chain.from_iterable(row.values() for row in rows))
    if whole:
        kinds = highspy.HighsVarType
        lp.integrality_ = [
            kinds.kInteger if column.cat == pulp.LpInteger else kinds.kContinuous for column in columns
        ]
    return lp


def _configured(*, whole: bool) -> Any:
    """Return a solver with the options PuLP sets, for programs with whole columns or without."""
    problem: Any = pulp.LpProblem("dough", pulp.LpMinimize)
    configured = pulp.HiGHS(
        msg=False,
        threads=1,
        gapRel=0.0,
        gapAbs=0.0,
        presolve="choose" if whole else "off",
        **_OPTIONS,
    )
    configured.createAndConfigureSolver(problem)
    return problem.solverModel


class _Idle(threading.local):
    """The solvers of a thread whose models are gone: to make one takes as long as to solve a recipe.

    They keep their options: those for programs with whole columns stand apart.
    """

    def __init__(self) -> None:
        self.solvers: dict[bool, list[Any]] = {False: [], True: []}

    def take(self, *, whole: bool) -> Any:
        """Return a solver that nobody uses."""
        return self.solvers[whole].pop() if self.solvers[whole] else _configured(whole=whole)

    def give(self, solver: Any, *, whole: bool) -> None:
        """Keep a solver without its model for the next one, a few at most."""
        if len(self.solvers[whole]) < _IDLE_AT_MOST:
            solver.clearModel()
            self.solvers[whole].append(solver)


_IDLE = _Idle()


class Model:
    """A linear program loaded into the solver; bounds may be changed and it be solved again.

    Raises
    ------
    SolverError
        When a run ends without a proof, even from a cold start, or the program is unbounded.

    Examples
    --------
    >>> program = LinearProgram()
    >>> x, y = program.column(1.0), program.column(2.0)
    >>> _ = program.row({x: 1.0, y: 1.0}, 10.0, INFINITY)
    >>> model = Model(program)
    >>> model.solve().objective
    10.0
    >>> model.bound_column(x, 0.0, 4.0)
    >>> model.solve().objective
    16.0
    """

    _sound = True

    def __init__(self, program: LinearProgram) -> None:
        self._whole = bool(program.integers)
        if not program.costs:
            program.column(0.0, 0.0, 0.0)
        self._solver: Any = _IDLE.take(whole=self._whole)
        self._solver.passModel(_loaded(*_as_pulp(program)))

    def __del__(self) -> None:
        """Leave the solver to the next model, unless it failed."""
        if self._sound:
            _IDLE.give(self._solver, whole=self._whole)

    def bound_column(self, index: int, lower: float, upper: float) -> None:
        """Replace the bounds of a column."""
        self._solver.changeColBounds(index, lower, upper)

    def bound_row(self, index: int, lower: float, upper: float) -> None:
        """Replace the bounds of a row."""
        self._solver.changeRowBounds(index, lower, upper)

    def price_column(self, index: int, cost: float) -> None:
        """Replace the cost of a column."""
        self._solver.changeColCost(index, cost)

    def coefficient(self, row: int, column: int, value: float) -> None:
        """Replace one coefficient of a row."""
        self._solver.changeCoeff(row, column, value)

    def price(self, costs: Sequence[float]) -> None:
        """Replace the costs of the first columns."""
        for index, cost in enumerate(costs):
            self._solver.changeColCost(index, cost)

    def _run(self) -> bool | None:
        self._solver.run()
        return _FEASIBLE.get(self._solver.getModelStatus())

    def _run_again(self) -> bool:
        """Run from cold as plainly as can be; the solver is left to nobody."""
        self._sound = False
        self._solver.setOptionValue("presolve", "off")
        for strategy in (_DUAL_SIMPLEX, _PRIMAL_SIMPLEX):
            self._solver.clearSolver()
            self._solver.setOptionValue("simplex_strategy", strategy)
            if (feasible := self._run()) is not None:
                return feasible
        raise SolverError(f"The solver ended with {self._solver.getModelStatus()}.")

    def solve(self) -> Solution:
        """Run to a proof; a run that ends in doubt is repeated from cold, then by the primal simplex."""
        feasible = self._run()
        if feasible is None:
            feasible = self._run_again()
        if not feasible:
            return Solution(feasible)
        found = self._solver.getSolution()
        return Solution(feasible, found.col_value, self._solver.getObjectiveValue(), found.row_dual)
