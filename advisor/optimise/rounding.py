"""Turns proved amounts into whole steps, and proves them again."""

from collections.abc import Mapping, Sequence

import numpy as np
import numpy.typing as npt

from advisor.errors import SolverError
from advisor.frozen import dataclass
from advisor.optimise.problem import MOVED
from advisor.optimise.row import TOLERANCE, Row, refuse_growing
from advisor.optimise.solver import INFINITY, LinearProgram, Model

_SWAPS_AT_MOST = 200
_REACH = 3
_MISSED_COSTS = 1e4
_Floats = npt.NDArray[np.float64]
_Ints = npt.NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Grid:
    """Amounts counted in whole units of ``1 / per_whole``.

    Parameters
    ----------
    per_whole : int
        Units to one percent (or one gram), e.g. 100 for hundredths.
    total : int
        The sum of all amounts [units].

    Examples
    --------
    >>> Grid(100, 10_000).amounts({"a": 3333, "b": 6667})
    {'a': 33.33, 'b': 66.67}
    """

    per_whole: int
    total: int

    def amounts(self, units: Mapping[str, int]) -> dict[str, float]:
        """Return units as amounts."""
        return {key: count / self.per_whole for key, count in units.items()}


def largest_remainder(exact: Mapping[str, float], total: int) -> dict[str, int]:
    """Share ``total`` whole units out near ``exact`` amounts (Hamilton's method).

    Examples
    --------
    >>> seats = dict(zip("abcde", (153_000, 411_000, 81_000, 92_000, 163_000)))
    >>> largest_remainder({k: 40 * v / 900_000 for k, v in seats.items()}, 40)
    {'a': 7, 'b': 18, 'c': 4, 'd': 4, 'e': 7}
    """
    floors = {key: int(np.floor(value + TOLERANCE)) for key, value in exact.items()}
    left = total - sum(floors.values())
    order = sorted(exact, key=lambda key: (floors[key] - exact[key], key))
    if left < 0:
        order.reverse()
    sign = 1 if left > 0 else -1
    for turn in range(abs(left)):
        floors[order[turn % len(order)]] += sign
    return floors


class _Rows:
    """Rows in the form ``matrix @ amounts <= bounds`` over chosen materials, the others standing still."""

    def __init__(self, rows: Sequence[Row], keys: Sequence[str], still: Mapping[str, float]) -> None:
        signs = [s for row in rows for s in {"<=": (1.0,), ">=": (-1.0,), "=": (1.0, -1.0)}[row.sense]]
        sources = [row for row in rows for _ in range(2 if row.sense == "=" else 1)]
        signed = list(zip(signs, sources, strict=True))
        self.matrix: _Floats = np.array(
            [[s * row.coefficients.get(key, 0.0) for key in keys] for s, row in signed]
        ).reshape(len(signs), len(keys))
        self.bounds: _Floats = np.array([s * (row.bound - row.value(still)) for s, row in signed])


def met(rows: Sequence[Row], amounts: Mapping[str, float]) -> bool:
    """Tell whether every row is met within 1e-9."""
    return all(row.gap(amounts) <= TOLERANCE for row in rows)


def swap_repair(
    units: Mapping[str, int],
    wanted: Mapping[str, float],
    rows: Sequence[Row],
    per_whole: int,
    step: int | Mapping[str, int],
    movable: Sequence[str],
) -> dict[str, int] | None:
    """Move one step between pairs of lines until every row is met; None where no swap helps any more.

    Each swap is the one that lowers the total violation most; ties go to the least deviation from ``wanted``
    [units], then to the order of ``movable``. With a step for each line a swap moves what both steps go into,
    and every line keeps at least one step.
    """
    refuse_growing(rows)
    if met(rows, {key: count / per_whole for key, count in units.items() if count}):
        return dict(units)
    keys = sorted(movable)
    pairs = [(i, j) for i in range(len(keys)) for j in range(len(keys)) if i != j]
    if not pairs:
        return None
    still = {key: count / per_whole for key, count in units.items() if key not in set(keys)}
    system = _Rows(rows, keys, still)
    counts: _Ints = np.array([units[key] for key in keys], dtype=np.int64)
    target: _Floats = np.array([wanted[key] for key in keys])
    ups, downs = np.array([p[0] for p in pairs]), np.array([p[1] for p in pairs])
    own: _Ints = np.array([step if isinstance(step, int) else step[key] for key in keys], dtype=np.int64)
    sizes = np.lcm(own[ups], own[downs])
    least = sizes if isinstance(step, int) else sizes + own[downs]
    effect = (system.matrix[:, ups] - system.matrix[:, downs]) * (sizes / per_whole)
    for _ in range(_SWAPS_AT_MOST):
        residual = system.matrix @ (counts / per_whole) - system.bounds
        now = np.maximum(residual, 0.0).sum()
        violation = np.maximum(residual[:, None] + effect, 0.0).sum(axis=0)
        violation[counts[downs] < least] = INFINITY
        best = violation.min()
        if best >= now - 1e-12:
            return None
        near = np.flatnonzero(violation <= best + 1e-12)
        off = counts - target
        moved = sizes[near]
        shift = np.abs(off[ups[near]] + moved) + np.abs(off[downs[near]] - moved)
        shift -= np.abs(off[ups[near]]) + np.abs(off[downs[near]])
        chosen = near[int(np.argmin(shift))]
        counts[ups[chosen]] += sizes[chosen]
        counts[downs[chosen]] -= sizes[chosen]
        found = {**units, **dict(zip(keys, counts.tolist(), strict=True))}
        if met(rows, {key: count / per_whole for key, count in found.items() if count}):
            return found
    return None


def search(
    wanted: Mapping[str, float],
    rows: Sequence[Row],
    grid: Grid,
    movable: Sequence[str],
    steps: Mapping[str, int] | None = None,
) -> dict[str, int] | None:
    """Look for the nearest whole units within three of ``wanted`` [units] that meet every row.

    With ``steps`` each line is counted in its own, within three of them, and keeps at least one. A row with a
    penalty may be missed at that price.

    Raises
    ------
    SolverError
        The search stopped before it proved anything.
    ValueError
        A row is over a whole that grows.
    """
    refuse_growing(rows)
    program = LinearProgram()
    columns: dict[str, int] = {}
    size = dict.fromkeys(wanted, 1) if steps is None else steps
    least = 0 if steps is None else 1
    fixed = {
        key: size[key] * max(least, round(value / size[key]))
        for key, value in wanted.items()
        if key not in movable
    }
    for key in sorted(movable):
        near = round(wanted[key] / size[key])
        columns[key] = program.column(
            0.0, float(max(least, near - _REACH)), float(max(least, near + _REACH)), whole=True
        )
        off = program.column(1.0)
        program.row({columns[key]: float(size[key]), off: -1.0}, -INFINITY, wanted[key])
        program.row({columns[key]: float(size[key]), off: 1.0}, wanted[key], INFINITY)
    for row in rows:
        constant = sum(
            row.coefficients.get(key, 0.0) * count / grid.per_whole for key, count in fixed.items()
        )
        coefficients = {
            columns[key]: row.coefficients[key] * size[key] / grid.per_whole
            for key in columns
            if row.coefficients.get(key)
        }
        program.load(row, coefficients, constant, row.penalty)
    left = float(grid.total - sum(fixed.values()))
    program.row({column: float(size[key]) for key, column in columns.items()}, left, left)
    solution = Model(program).solve()
    if not solution.feasible:
        return None
    units = fixed | {key: size[key] * round(solution.values[column]) for key, column in columns.items()}
    return units if met([row for row in rows if row.penalty is None], grid.amounts(units)) else None


def nearest_units(
    amounts: Mapping[str, float],
    starts: Mapping[str, float],
    narrow: Sequence[Row],
    rows: Sequence[Row],
    grid: Grid,
) -> dict[str, int] | None:
    """Return the whole units beside proved amounts that meet ``rows`` and miss the narrow rows by least.

    Raises
    ------
    SolverError
        The search stopped before it proved anything.

    Examples
    --------
    >>> third = Row("third", {"a": 1.0}, ">=", 33.3333), Row("third", {"a": 1.0}, "<=", 33.3333)
    >>> nearest_units({"a": 33.3333, "b": 66.6667}, {"a": 30.0, "b": 70.0}, third, [], Grid(100, 10_000))
    {'a': 3333, 'b': 6667}
    """
    wanted = {key: amount * grid.per_whole for key, amount in amounts.items()}
    free = sorted(key for key, amount in amounts.items() if abs(amount - starts[key]) > MOVED)
    return search(wanted, [*rows, *[row.priced(_MISSED_COSTS) for row in narrow]], grid, free)


@dataclass(frozen=True, slots=True)
class Rounded:
    """Whole units that meet every row they were asked to meet; ``dropped`` names the rows that had to go.

    ``proved`` where it is proved that nothing near keeps the dropped rows; else the search stopped before.
    """

    grid: Grid
    units: Mapping[str, int]
    dropped: tuple[str, ...] = ()
    proved: bool = True

    @property
    def amounts(self) -> dict[str, float]:
        """The amounts behind the units."""
        return self.grid.amounts(self.units)


def round_plan(
    amounts: Mapping[str, float],
    starts: Mapping[str, float],
    rows: Sequence[Row],
    grids: Sequence[Grid],
    *,
    steps: Sequence[float] = (),
    last_to_go: Sequence[str] = (),
) -> Rounded | None:
    """Round the lines that moved, coarsest step first, and prove every row.

    Parameters
    ----------
    amounts, starts : mapping of str to float
        Proved amounts, and where each line stood; lines that did not move keep every decimal.
    rows : sequence of Row
        Every row the answer must meet; the total is the grid's.
    grids : sequence of Grid
        The grids to try, the preferred one first; the starts lie on each.
    steps : sequence of float
        Steps of a change that a person prefers, tried first on the first grid.
    last_to_go : sequence of str
        Names of rows that are given up, all together, before nothing is answered.

    Raises
    ------
    SolverError
        Nothing was found, and a search stopped before it proved that there is nothing.

    Examples
    --------
    >>> half = Row("half", {"a": 1.0}, ">=", 33.333)
    >>> round_plan({"a": 33.333, "b": 66.667}, {"a": 30.0, "b": 70.0}, [half], [Grid(100, 10_000)]).units
    {'a': 3334, 'b': 6666}
    """
    used = {key for key, amount in amounts.items() if amount or starts[key]}
    rows = [row for row in rows if not used.isdisjoint(row.coefficients)]
    kept = [row for row in rows if row.name not in set(last_to_go)]
    stopped: SolverError | None = None
    for grid in grids:
        tried = [*(round(step * grid.per_whole) for step in steps if grid is grids[0]), 1]
        goals = [(rows, tried, ()), *([(kept, [1], tuple(last_to_go))] if last_to_go else [])]
        for asked, sizes, dropped in goals:
            try:
                found = _rounded(amounts, starts, asked, grid, sizes)
            except SolverError as error:
                stopped = error
                continue
            if found is not None:
                return Rounded(grid, found, dropped, proved=stopped is None)
    if stopped is not None:
        raise stopped
    return None


def _rounded(
    amounts: Mapping[str, float],
    starts: Mapping[str, float],
    rows: Sequence[Row],
    grid: Grid,
    steps: Sequence[int],
) -> dict[str, int] | None:
    moved = sorted(key for key, amount in amounts.items() if abs(amount - starts[key]) > MOVED)
    free = sorted(key for key, amount in amounts.items() if amount > 0)
    wanted = {key: amount * grid.per_whole for key, amount in amounts.items()}
    for step in steps:
        begun = _on_step(amounts, starts, moved, grid, step) if step else None
        found = begun and swap_repair(begun, wanted, rows, grid.per_whole, step, moved)
        if found:
            return found
    stopped: SolverError | None = None
    for movable in (moved, free):
        try:
            found = search(wanted, rows, grid, movable)
        except SolverError as error:
            stopped = error
            continue
        if found:
            return found
    if stopped is not None:
        raise stopped
    return None


def _on_step(
    amounts: Mapping[str, float], starts: Mapping[str, float], moved: Sequence[str], grid: Grid, step: int
) -> dict[str, int] | None:
    """Return units in which every change is a multiple of ``step``, summing to the total, or None."""
    units = {key: round(start * grid.per_whole) for key, start in starts.items()}
    leaving = {key for key in moved if amounts[key] <= TOLERANCE}
    for key in leaving:
        units[key] = 0
    staying = [key for key in moved if key not in leaving]
    open_units = grid.total - sum(units.values())
    if open_units % step:
        return None
    if not staying:
        return units if open_units == 0 else None
    exact = {key: (amounts[key] - starts[key]) * grid.per_whole / step for key in staying}
    changes = largest_remainder(exact, open_units // step)
    return units | {key: units[key] + step * change for key, change in changes.items()}
