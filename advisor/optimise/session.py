"""A problem loaded into the solver, and solved again as lines are held or a bound is eased."""

from collections.abc import Container, Iterable, Mapping

from advisor.frozen import replace
from advisor.optimise.problem import CERTIFIED, MOVED, Plan, Problem
from advisor.optimise.row import TOLERANCE, Row
from advisor.optimise.solver import INFINITY, LinearProgram, Model, Solution


class Session:
    """A problem loaded into the solver, to be solved again with lines held or a bound eased."""

    def __init__(self, problem: Problem) -> None:
        """Compile the problem: ``amount = start + up - down``, a slack column for each row with a penalty."""
        self.problem = problem
        self._held: frozenset[str] = frozenset()
        self._pushed: dict[str, tuple[float, float]] = {}
        self._line_of, self._bounds = _lines(problem)
        self._up: dict[str, int] = {}
        self._down: dict[str, int] = {}
        self._slack: dict[str, int] = {}
        self._row_at: dict[str, int] = {}
        self._restated: dict[str, Row] = {}
        program = LinearProgram()
        for key, start in problem.starts.items():
            weight, cost = problem.weights.get(key, 0.0), problem.costs.get(key, 0.0)
            up, down = _spans(start, *self._bounds[key])
            self._up[key] = program.column(weight + cost, *up)
            if start > 0:
                self._down[key] = program.column(weight - cost, *down)
        for row in problem.rows:
            if row.name not in self._line_of:
                self._add(program, row)
        if problem.newcomers_at_most is not None:
            new = sorted(problem.newcomers & self._up.keys())
            limits = {self._up[key]: min(self._bounds[key][1], 100.0) for key in new}
            program.few(limits, problem.newcomers_at_most)
        self._fewest_moves = _fewest_moves(problem)
        self._base = sum(cost * problem.starts.get(key, 0.0) for key, cost in problem.costs.items())
        self._model = Model(program)

    def _add(self, program: LinearProgram, row: Row) -> None:
        coefficients: dict[int, float] = {}
        for key, c in row.coefficients.items():
            if c and key in self._up:
                coefficients[self._up[key]] = c
                if key in self._down:
                    coefficients[self._down[key]] = -c
        self._row_at[row.name] = len(program.rows)
        missed = program.load(row, coefficients, row.value(self.problem.starts), row.penalty)
        if missed is not None:
            self._slack[row.name] = missed

    def _bound(self, key: str) -> None:
        start = self.problem.starts[key]
        low, high = self._bounds[key]
        if key in self._held:
            low = high = start
        elif key in self._pushed:
            least, most = self._pushed[key]
            low, high = max(low, least), min(high, most)
        up, down = _spans(start, low, high)
        self._model.bound_column(self._up[key], *up)
        if key in self._down:
            self._model.bound_column(self._down[key], *down)

    def hold(self, keys: frozenset[str]) -> None:
        """Keep exactly these materials at their start, and let every other move as far as its rows let it."""
        changed = (keys ^ self._held) | self._pushed.keys()
        self._held, self._pushed = keys, {}
        for key in changed:
            self._bound(key)

    def can_hold(self, key: str) -> bool:
        """Tell whether the bounds of a material let it stay at its start."""
        low, high = self._bounds[key]
        start = self.problem.starts[key]
        return low <= start + TOLERANCE and start <= high + TOLERANCE

    def weigh(self, key: str, weight: float) -> None:
        """Replace the price of moving a material."""
        cost = self.problem.costs.get(key, 0.0)
        self._model.price_column(self._up[key], weight + cost)
        if key in self._down:
            self._model.price_column(self._down[key], weight - cost)

    def restate(self, row: Row) -> None:
        """Put a row in the place of the loaded one of its name."""
        if row.name in self._line_of:
            key = self._line_of[row.name]
            rows = [row if one.name == row.name else one for one in self.problem.rows]
            self._bounds[key] = _line_bounds(key, [r for r in rows if self._line_of.get(r.name) == key])
            self._bound(key)
            return
        at, before = self._row_at[row.name], self._restated.get(row.name)
        before = before or next(one for one in self.problem.rows if one.name == row.name)
        for key in sorted(before.coefficients.keys() | row.coefficients.keys()):
            c = row.coefficients.get(key, 0.0)
            if c != before.coefficients.get(key, 0.0) and key in self._up:
                self._model.coefficient(at, self._up[key], c)
                if key in self._down:
                    self._model.coefficient(at, self._down[key], -c)
        constant = row.value(self.problem.starts)
        self._model.bound_row(at, row.lower - constant, row.upper - constant)
        self._restated[row.name] = row

    def solve(self) -> Plan | None:
        """Solve as things stand; None where nothing meets the hard rows."""
        found = self._solved()
        return None if found is None else self._explained(*found)

    def _explained(self, plan: Plan, solution: Solution) -> Plan:
        return replace(plan, pressing=self._pressing(solution, plan.amounts))

    def _solved(self) -> tuple[Plan, Solution] | None:
        """Solve, and leave open what presses."""
        solution = self._model.solve()
        if not solution.feasible:
            return None
        values, down, starts = solution.values, self._down, self.problem.starts
        amounts = {
            key: starts[key] + values[up] - (values[down[key]] if key in down else 0.0)
            for key, up in self._up.items()
        }
        moves = [(move, key) for key, start in starts.items() if (move := abs(amounts[key] - start)) > MOVED]
        moved = {key: move for move, key in sorted(moves)}
        overshoot = {name: values[column] for name, column in self._slack.items()}
        price = solution.objective + self._base + self._fees(moved)
        return Plan(amounts, moved, overshoot, price), solution

    def _fees(self, moved: Iterable[str]) -> float:
        new, problem = self.problem.newcomers, self.problem
        return sum(problem.mover_fee + (problem.newcomer_fee if key in new else 0.0) for key in moved)

    def _pressing(self, solution: Solution, amounts: Mapping[str, float]) -> tuple[str, ...]:
        names = [
            name
            for name, at in self._row_at.items()
            if name not in self._slack and abs(solution.row_duals[at]) > MOVED
        ]
        for row in self.problem.rows:
            key = self._line_of.get(row.name)
            if (
                key
                and key not in self._held
                and abs(amounts[key] - row.bound / row.coefficients[key]) <= MOVED
            ):
                names.append(row.name)
        return tuple(sorted(names))

    def settle(self, *, explained: bool = True) -> Plan | None:
        """Solve, then hold small movers one by one as long as the price with fees falls.

        ``explained`` asks which bounds press.
        """
        found = self._solved()
        if found is None:
            return None
        improved = bool(self.problem.mover_fee)
        while improved:
            improved = False
            for key in self._worth_holding(found[0]):
                self.hold(self._held | {key})
                tried = self._solved()
                if (
                    tried is not None
                    and _as_met(tried[0], found[0])
                    and tried[0].price < found[0].price - TOLERANCE
                ):
                    found, improved = tried, True
                    break
                self.hold(self._held - {key})
        found = self._as_a_person_would(found)
        return self._explained(*found) if explained else found[0]

    def _as_a_person_would(self, found: tuple[Plan, Solution]) -> tuple[Plan, Solution]:
        """Hold or push on moves too small or too many where every row is met as well as before."""
        tried_already: set[tuple[str, bool]] = set()
        while trial := next((one for one in self._trials(found[0]) if one not in tried_already), None):
            tried_already.add(trial)
            key, held = trial
            before = self._held, dict(self._pushed)
            self._narrow(key, held=held, rises=found[0].amounts[key] > self.problem.starts[key])
            tried = self._solved()
            fewer = tried is not None and tried[0].oddities(self.problem) < found[0].oddities(self.problem)
            if tried is not None and fewer and _as_met(tried[0], found[0]):
                found = tried
            else:
                self._restore(key, *before)
        return found

    def _trials(self, plan: Plan) -> list[tuple[str, bool]]:
        """Return the lines to hold (true) or to push on, the most promising first."""
        small = plan.too_small(self.problem)
        many = plan.moves if plan.oddities(self.problem) > len(small) else ()
        pushing = [(key, False) for key in small if self._can_push(key, plan)]
        nearly = [
            one
            for one in pushing
            if 2 * abs(plan.amounts[one[0]] - self.problem.starts[one[0]]) >= self.problem.least_moves[one[0]]
        ]
        holding = [(key, True) for key in dict.fromkeys([*small, *many]) if self.can_hold(key)]
        return [*nearly, *holding, *pushing]

    def _can_push(self, key: str, plan: Plan) -> bool:
        low, high = self._bounds[key]
        start, least = self.problem.starts[key], self.problem.least_moves[key]
        return start + least <= high if plan.amounts[key] > start else low <= start - least

    def _narrow(self, key: str, *, held: bool, rises: bool) -> None:
        if held:
            self._held |= {key}
        else:
            start, least = self.problem.starts[key], self.problem.least_moves[key]
            self._pushed[key] = (start + least, INFINITY) if rises else (0.0, start - least)
        self._bound(key)

    def _restore(self, key: str, held: frozenset[str], pushed: dict[str, tuple[float, float]]) -> None:
        self._held, self._pushed = held, pushed
        self._bound(key)

    def _worth_holding(self, plan: Plan) -> list[str]:
        """Return the movers that can be held, the smallest move first.

        Under a fixed total at least two lines move and holding one more never lowers the price without fees:
        where two old lines move, nothing can be won.
        """
        if len(plan.moves) <= self._fewest_moves and self.problem.newcomers.isdisjoint(plan.moves):
            return []
        return [key for key in plan.moves if self.can_hold(key)]


def _fewest_moves(problem: Problem) -> int:
    """Return how many lines move at least wherever one does: two where the sum of all is fixed."""
    totals = (row for row in problem.rows if row.sense == "=" and row.penalty is None)
    fixed = any(
        all(row.coefficients.get(key) == 1.0 for key in problem.starts) and row.gap(problem.starts) <= MOVED
        for row in totals
    )
    return 2 if fixed else 1


def _as_met(tried: Plan, plan: Plan) -> bool:
    return tried.missed <= plan.missed + CERTIFIED


def _spans(start: float, low: float, high: float) -> tuple[tuple[float, float], tuple[float, float]]:
    """Return how far a line between two bounds goes at least and at most: up from its start, and down."""
    return (max(0.0, low - start), max(0.0, high - start)), (max(0.0, start - high), max(0.0, start - low))


def _lines(problem: Problem) -> tuple[dict[str, str], dict[str, tuple[float, float]]]:
    """Return which hard rows concern one material alone, and the amounts those leave each material.

    Rows over one material that exclude each other stay rows, so that the solver finds the conflict.
    """
    line_of: dict[str, str] = {}
    bounds = dict.fromkeys(problem.starts, (0.0, INFINITY))
    for row in problem.rows:
        key = _only_line(row, bounds) if row.penalty is None else None
        if key is None:
            continue
        low, high = _intersection(bounds[key], row, key)
        if low <= high:
            line_of[row.name] = key
            bounds[key] = (low, high)
    return line_of, bounds


def _only_line(row: Row, lines: Container[str]) -> str | None:
    """Return the one line a row concerns; None where it concerns more, or none."""
    found = None
    for key, c in row.coefficients.items():
        if c and key in lines:
            if found is not None:
                return None
            found = key
    return found


def _line_bounds(key: str, rows: Iterable[Row]) -> tuple[float, float]:
    bounds = (0.0, INFINITY)
    for row in rows:
        bounds = _intersection(bounds, row, key)
    return bounds


def _intersection(bounds: tuple[float, float], row: Row, key: str) -> tuple[float, float]:
    c = row.coefficients[key]
    low, high = (row.lower / c, row.upper / c) if c > 0 else (row.upper / c, row.lower / c)
    return max(bounds[0], low), min(bounds[1], high)


def optimise(problem: Problem) -> Plan | None:
    """Return the least-priced amounts that meet every hard row, or None where there are none.

    Raises
    ------
    SolverError
        When the solver gives no proof.
    """
    return Session(problem).settle()
