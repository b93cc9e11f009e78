"""Solves the same programs by PuLP's file-based solver, for comparison only."""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import Any

import pulp

from advisor.optimise import addition, rounding, session, solver

_FEASIBLE = {pulp.LpStatusOptimal: True, pulp.LpStatusInfeasible: False}


class FileModel:
    """The seam of the solver, with a file and a process for every run."""

    def __init__(self, program: solver.LinearProgram) -> None:
        self._program = program

    def bound_column(self, index: int, lower: float, upper: float) -> None:
        """Replace the bounds of a column."""
        self._program.lower[index], self._program.upper[index] = lower, upper

    def bound_row(self, index: int, lower: float, upper: float) -> None:
        """Replace the bounds of a row."""
        coefficients, _, _ = self._program.rows[index]
        self._program.rows[index] = (coefficients, lower, upper)

    def price_column(self, index: int, cost: float) -> None:
        """Replace the cost of a column."""
        self._program.costs[index] = cost

    def price(self, costs: Sequence[float]) -> None:
        """Replace the costs of all columns."""
        self._program.costs[:] = costs

    def coefficient(self, row: int, column: int, value: float) -> None:
        """Replace one coefficient of a row."""
        coefficients, lower, upper = self._program.rows[row]
        self._program.rows[row] = ({**coefficients, column: value}, lower, upper)

    def solve(self) -> solver.Solution:
        """Write the program to a file, start the solver, and read what it writes."""
        written, columns = solver._as_pulp(self._program)
        written.solve(pulp.PULP_CBC_CMD(msg=False, threads=1))
        feasible = _FEASIBLE[written.status]
        if not feasible:
            return solver.Solution(feasible)
        values = [variable.value() or 0.0 for variable in columns]
        duals = [row.pi or 0.0 for row in written.constraints()]
        return solver.Solution(feasible, values, pulp.value(written.objective), duals)


@contextmanager
def by_files() -> Iterator[None]:
    """Let every program be solved by the file-based solver meanwhile."""
    rooms: tuple[Any, ...] = (addition, rounding, session)
    for room in rooms:
        room.Model = FileModel
    try:
        yield
    finally:
        for room in rooms:
            room.Model = solver.Model
