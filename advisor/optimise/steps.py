"""Turns an addition into whole steps of a balance: none, or enough to weigh well."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
import numpy.typing as npt

from advisor.errors import SolverError
from advisor.optimise.row import Row
from advisor.optimise.solver import INFINITY, LinearProgram, Model, Status

_PROVED = 1e-8
_WHOLE = 1e-9
_COMBINATIONS_AT_MOST = 20_000
_Floats = npt.NDArray[np.float64]
_Ints = npt.NDArray[np.int64]


@dataclass(frozen=True)
class Steps:
    """What is to be weighed in whole steps.

    Parameters
    ----------
    base : mapping of str to float
        What is there, in the unit of the rows.
    exact : mapping of str to float
        The addition before rounding, in the same unit.
    rows : sequence of Row
        What the sum of base and addition must meet; a row with a penalty may fall short at that price.
    step : float
        One step of the balance, in the same unit.
    least : int
        Fewest steps that weigh well; a material gets none or at least so many.
    prices : mapping of str to float
        What a unit of each material costs.
    off_prices : mapping of str to float
        What a unit of each material away from the exact addition costs.

    Examples
    --------
    >>> enough = Row("enough", {"clay": 0.4, "starch": 0.5}, ">=", 10.0)
    >>> task = Steps({}, {"starch": 20.0}, [enough], 3.0, 1, {"starch": 1.0})
    >>> whole_steps(task)
    {'starch': 7}
    """

    base: Mapping[str, float]
    exact: Mapping[str, float]
    rows: Sequence[Row]
    step: float
    least: int
    prices: Mapping[str, float]
    off_prices: Mapping[str, float] = field(default_factory=dict)

    def sums(self, counts: Mapping[str, int]) -> dict[str, float]:
        """Return base and addition together."""
        sums = dict(self.base)
        for key, count in counts.items():
            sums[key] = sums.get(key, 0.0) + count * self.step
        return sums


def close_steps(task: Steps) -> dict[str, int] | None:
    """Return the cheapest whole steps beside the exact addition that meet every row; None where none do.

    Every combination of the step below, the two above, none and the fewest that weigh well is tried.

    Examples
    --------
    >>> enough = Row("enough", {"clay": 0.4, "starch": 0.5}, ">=", 10.0)
    >>> close_steps(Steps({}, {"starch": 20.0}, [enough], 3.0, 1, {"starch": 1.0}))
    {'starch': 7}
    """
    keys = sorted(task.exact)
    choices = [_beside(task.exact[key] / task.step, task.least) for key in keys]
    if not keys or math.prod(map(len, choices)) > _COMBINATIONS_AT_MOST:
        return None
    counts: _Ints = np.stack(np.meshgrid(*choices, indexing="ij"), axis=-1).reshape(-1, len(keys))
    fits = np.ones(len(counts), dtype=bool)
    for row in task.rows:
        values = counts @ np.array([row.coefficients.get(key, 0.0) * task.step for key in keys])
        values += row.value(task.base)
        if row.sense != ">=":
            fits &= values <= row.bound + _PROVED
        if row.sense != "<=":
            fits &= values >= row.bound - _PROVED
    counts = counts[fits]
    if not len(counts):
        return None
    exact: _Floats = np.array([task.exact[key] / task.step for key in keys])
    prices: _Floats = np.array([task.prices.get(key, 0.0) for key in keys])
    off_prices: _Floats = np.array([task.off_prices.get(key, 0.0) for key in keys])
    costs = counts @ prices + np.abs(counts - exact) @ off_prices
    best = counts[int(np.argmin(costs))]
    return {key: int(count) for key, count in zip(keys, best, strict=True) if count}


def _beside(exact: float, least: int) -> list[int]:
    below = math.floor(exact + _WHOLE)
    near = {count if count >= least else taken for count in range(below, below + 3) for taken in (0, least)}
    return sorted(near | {below} if below >= least else near)


def whole_steps(task: Steps) -> dict[str, int] | None:
    """Return the cheapest whole steps that meet every row, proved by counting; None where there are none."""
    program = LinearProgram()
    reach = math.ceil(sum(task.exact.values()) / task.step) + len(task.exact) + 2 * task.least
    columns = {key: _column(program, task, key, reach) for key in sorted(task.exact)}
    for row in task.rows:
        coefficients = {
            column: c * task.step for key, column in columns.items() if (c := row.coefficients.get(key))
        }
        constant = row.value(task.base)
        if not coefficients:
            if row.penalty is None and row.gap(task.base) > _PROVED:
                return None
            continue
        if row.penalty is not None:
            coefficients[program.column(row.penalty)] = -1.0 if row.sense == "<=" else 1.0
        program.row(coefficients, row.lower - constant, row.upper - constant)
    if not columns:
        return {}
    try:
        solution = Model(program).solve()
    except SolverError:
        return None
    if solution.status is not Status.OPTIMAL:
        return None
    counts = {key: round(solution.values[column]) for key, column in columns.items()}
    sums = task.sums(counts)
    if any(row.penalty is None and row.gap(sums) > _PROVED for row in task.rows):
        return None
    return {key: count for key, count in counts.items() if count}


def nearest_steps(task: Steps, ladder: Sequence[Sequence[Row]]) -> dict[str, int]:
    """Return the whole steps nearest to an addition that meet the first set of rows of a ladder they can.

    Parameters
    ----------
    task : Steps
        Its own rows are not asked.
    ladder : sequence of sequences of Row
        Each set easier than the one before it.

    Examples
    --------
    >>> task = Steps({}, {"clay": 2.4}, (), 1.0, 1, {}, {"clay": 1.0})
    >>> nearest_steps(task, [[Row("enough", {"clay": 1.0}, ">=", 2.2)]])
    {'clay': 3}
    """
    plain = {key: round(amount / task.step) for key, amount in task.exact.items()}
    for rows in ladder:
        if all(row.gap(task.sums(plain)) <= _PROVED for row in rows):
            break
        found = whole_steps(replace(task, rows=rows))
        if found is not None:
            return found
    return {key: count for key, count in plain.items() if count}


def _column(program: LinearProgram, task: Steps, key: str, reach: int) -> int:
    column = program.column(task.prices.get(key, 0.0) * task.step, 0.0, float(reach), whole=True)
    if task.least > 1:
        chosen = program.column(0.0, 0.0, 1.0, whole=True)
        program.row({column: 1.0, chosen: -float(task.least)}, 0.0, INFINITY)
        program.row({column: 1.0, chosen: -float(reach)}, -INFINITY, 0.0)
    if key in task.off_prices:
        off = program.column(task.off_prices[key] * task.step)
        exact = task.exact[key] / task.step
        program.row({column: 1.0, off: -1.0}, -INFINITY, exact)
        program.row({column: 1.0, off: 1.0}, exact, INFINITY)
    return column


def fewest_steps(grams: float, step: float) -> int:
    """Return how many steps make at least so many grams.

    Examples
    --------
    >>> fewest_steps(0.5, 0.1), fewest_steps(0.25, 0.1)
    (5, 3)
    """
    return max(1, math.ceil(grams / step - _WHOLE))


def in_parts(count: int, parts: int, least: int) -> list[int]:
    """Share steps out to equal parts, the last with the remainder, none smaller than ``least``.

    Examples
    --------
    >>> in_parts(32, 3, 5), in_parts(12, 3, 5), in_parts(4, 3, 5)
    ([10, 10, 12], [6, 6], [4])
    """
    number = max(1, min(parts, count // least))
    part = count // number
    return [part] * (number - 1) + [count - part * (number - 1)]
