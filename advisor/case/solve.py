"""From demands to a proved recipe: build the program, solve it, round, prove."""

import math
from collections.abc import Mapping, Sequence

from advisor.demands.move_prices import least_move, move_prices
from advisor.errors import SolverError
from advisor.frozen import cached_property, dataclass, replace
from advisor.optimise.problem import CERTIFIED, Plan, Problem
from advisor.optimise.rounding import Grid, Rounded, nearest_units, round_plan
from advisor.optimise.row import Row
from advisor.optimise.session import Session
from advisor.recipe.demand import Demand, Side
from advisor.recipe.measures import Amounts
from advisor.rulebook.ingredient import Ingredient
from advisor.rulebook.program import ProgramRules
from advisor.schema.base import WHOLE

TINY = 1e-9
STERNER = 1000.0
_NOT_FURTHER = 2e-4


@dataclass(frozen=True)
class Program:
    """What is asked of the program for one recipe.

    Parameters
    ----------
    ingredients : mapping
        Every material that may be used.
    starts : mapping
        Percents the recipe came with, 0 for new materials.
    hard : sequence of Demand
        What must hold.
    soft : sequence of Demand
        What may fall short at a price: the report's target.
    rules : ProgramRules
    prices : mapping, optional
        What moving each line costs; default: the rules' price of its role.
    cheapest : bool
        Seek the least price first, then the least change.
    newcomers_at_most : int, optional
    step : float, optional
        One step of the balance [% of the batch], where the batch is known.
    wished : frozenset of str
        Lines that a wish speaks of.
    no_more_of : frozenset of str
        Lines that do not rise.
    """

    ingredients: Mapping[str, Ingredient]
    starts: Amounts
    hard: Sequence[Demand]
    soft: Sequence[Demand]
    rules: ProgramRules
    prices: Mapping[str, float] | None = None
    cheapest: bool = False
    newcomers_at_most: int | None = None
    step: float = 0.0
    wished: frozenset[str] = frozenset()
    no_more_of: frozenset[str] = frozenset()

    @cached_property
    def keys(self) -> tuple[str, ...]:
        """Every material in canonical order."""
        return tuple(sorted(self.ingredients))

    @cached_property
    def newcomers(self) -> frozenset[str]:
        """Materials that are not in the recipe."""
        return frozenset(key for key in self.keys if not self.starts.get(key))

    @cached_property
    def demand_of(self) -> dict[str, tuple[Demand, Side]]:
        """The demand and the side behind each row."""
        sides: tuple[Side, ...] = ("min", "max")
        return {f"{d.id}:{side}": (d, side) for d in (*self.hard, *self.soft) for side in sides}

    @cached_property
    def least_moves(self) -> dict[str, float]:
        """By how many points each line moves at least, where it is left to us [points]."""
        if self.cheapest:
            return {}
        return {
            key: least_move(one, self.starts.get(key, 0.0), self.rules.moves, self.step)
            for key, one in self.ingredients.items()
            if key not in self.wished and one.main_role not in self.rules.held.roles
        }

    @cached_property
    def total(self) -> Row:
        """Everything adds up to 100."""
        return Row("total", dict.fromkeys(self.keys, 1.0), "=", WHOLE)

    @cached_property
    def hard_rows(self) -> list[Row]:
        """The rows of what must hold, without the total."""
        return [row for demand in self.hard for row in demand.rows(self.keys, WHOLE)]

    @cached_property
    def soft_rows(self) -> list[Row]:
        """The rows of what may fall short, each at the price of the target per unit of its measure.

        A quotient's row is divided by what the recipe has below the line, a percent by 100, so that all are
        plain ratios.
        """
        return [
            row.per(_below(demand, self.starts)).priced(self.rules.prices.target_penalty)
            for demand in self.soft
            for row in demand.rows(self.keys, WHOLE)
        ]

    def problem(self) -> Problem:
        """Return the least-change problem."""
        prices = self.rules.prices
        rising = (
            Row(f"rising:{key}", {key: 1.0}, "<=", self.starts.get(key, 0.0)) for key in self.no_more_of
        )
        return Problem(
            starts={key: self.starts.get(key, 0.0) for key in self.keys},
            weights=self.prices or move_prices(self.ingredients, self.starts, self.rules),
            rows=[self.total, *self.hard_rows, *self.soft_rows, *rising],
            mover_fee=prices.mover_fee,
            newcomer_fee=prices.newcomer_fee,
            newcomers=self.newcomers,
            least_moves=self.least_moves,
            sterner=frozenset(
                f"{d.id}:{side}" for d in self.soft if d.group == "wetness" for side in ("min", "max")
            ),
            movers_at_most=None if self.cheapest else self.rules.moves.movers_at_most,
        )

    def cost_problem(self) -> Problem:
        """Return the least-price problem."""
        costs = {key: (one.price or 0.0) / WHOLE for key, one in self.ingredients.items()}
        return replace(self.problem(), weights={}, costs=costs, mover_fee=0.0, newcomer_fee=0.0)


def _below(demand: Demand, starts: Amounts) -> float:
    measure = demand.measure
    return WHOLE if measure.bottom is None else measure.below(starts) / measure.scale


@dataclass(frozen=True)
class Solved:
    """A proved plan, the session that found it and the problem it solves."""

    plan: Plan
    session: Session


@dataclass(frozen=True)
class Attempt:
    """A program that was tried, and what it came to; ``solved`` is None where nothing meets it."""

    program: Program
    solved: Solved | None

    @property
    def missed(self) -> float:
        """By how much the target is missed; without end where nothing meets the program."""
        return math.inf if self.solved is None else self.solved.plan.missed

    def rounded(self, decimals: int) -> "Rounded | None":
        """Return the plan in whole steps; None where there is none, or no steps meet what it meets."""
        return None if self.solved is None else rounded(self.program, self.solved.plan, decimals)


def solve(program: Program) -> Solved | None:
    """Return the least-priced plan, or None where the hard demands exclude each other.

    Under the least price the bounds that press are those of the price, not of the change.
    """
    problem = program.problem()
    if not program.cheapest:
        return _within(problem, program.newcomers_at_most)
    cheapest = _within(program.cost_problem(), program.newcomers_at_most)
    if cheapest is None:
        return None
    slack = program.rules.prices.cost_slack
    best = sum(cost * cheapest.plan.amounts[key] for key, cost in cheapest.session.problem.costs.items())
    cost_row = Row("cost", cheapest.session.problem.costs, "<=", best * (1 + slack) + TINY)
    found = _within(replace(problem, rows=(*problem.rows, cost_row)), program.newcomers_at_most)
    if found is None:
        return None
    return replace(found, plan=replace(found.plan, pressing=cheapest.plan.pressing))


def unpriced(program: Program) -> Amounts | None:
    """Return what the plan would be had no least price been asked for; None where none was."""
    found = solve(replace(program, cheapest=False)) if program.cheapest else None
    return None if found is None else found.plan.amounts


def _within(problem: Problem, most: int | None) -> Solved | None:
    """Solve, with at most so many new materials: the plain answer first, then each alone, then a search."""
    plain = _settled(problem)
    if plain is None or most is None or len(plain.plan.moves.keys() & problem.newcomers) <= most:
        return plain
    if most >= 2:
        return _settled(replace(problem, newcomers_at_most=most))
    allowed = [frozenset[str]()] if most == 0 else [frozenset({key}) for key in sorted(problem.newcomers)]
    tried = [_settled(_without(problem, problem.newcomers - some)) for some in allowed]
    return min([one for one in tried if one is not None], key=lambda one: one.plan.price, default=None)


def _settled(problem: Problem) -> Solved | None:
    """Settle a problem; a target no move is too dear for is asked for once more where it fell short."""
    found = _once(problem)
    if found is None or sum(found.plan.overshoot.get(name, 0.0) for name in problem.sterner) <= CERTIFIED:
        return found
    rows = [
        row.priced(row.penalty * STERNER) if row.penalty and row.name in problem.sterner else row
        for row in problem.rows
    ]
    return _once(replace(problem, rows=rows))


def _once(problem: Problem) -> Solved | None:
    session = Session(problem)
    plan = session.settle()
    return None if plan is None else Solved(plan, session)


def _without(problem: Problem, keys: frozenset[str]) -> Problem:
    barred = [Row(f"barred:{key}", {key: 1.0}, "<=", 0.0) for key in keys]
    return replace(problem, rows=(*problem.rows, *barred))


def rounded(
    program: Program, plan: Plan, decimals: int, hard_rows: Sequence[Row] | None = None
) -> Rounded | None:
    """Round a plan to hundredths (finer where a line needs it) and prove every demand it met.

    A target that fell short is not asked of the rounded recipe. Where no hundredth fits, finer grids are
    tried; then the target's narrow band is given up before anything else. ``hard_rows`` take the place of the
    program's own.
    """
    rules = program.rules.rounding
    finest = len(str(rules.finest_per_percent)) - 1
    grids = [Grid(10**d, 100 * 10**d) for d in range(decimals, finest + 1)]
    rows = list(program.hard_rows if hard_rows is None else hard_rows)
    reached = [_as_reached(row, plan.overshoot[row.name], program) for row in program.soft_rows]
    starts = {key: program.starts.get(key, 0.0) for key in program.keys}
    steps: Sequence[float] = () if program.cheapest else _preferred_steps(program, plan, starts)
    names = [row.name for row in reached]
    found, proved = None, True
    for first in range(max(1, len(steps))):
        try:
            tried = round_plan(
                plan.amounts, starts, [*rows, *reached], grids, steps=steps[first:], last_to_go=names
            )
        except SolverError:
            proved = False
            break
        if tried is None or _small_moves(program, tried.amounts) <= _small_moves(program, plan.amounts):
            found = tried
            break
        found = found or tried
    return found or _nearest_rounding(program, plan, rows, grids[0], starts, proved=proved)


def _small_moves(program: Program, amounts: Amounts) -> int:
    moves = (
        (abs(amounts[key] - program.starts.get(key, 0.0)), least)
        for key, least in program.least_moves.items()
    )
    return sum(TINY < move < least - TINY for move, least in moves)


def _as_reached(row: Row, short: float, program: Program) -> Row:
    """Return a row of the target as it was reached: where it fell short it is not to fall further.

    What a report of the finished bar asks may, by the smallest step that makers write.
    """
    further = _NOT_FURTHER
    if program.demand_of[row.name][0].group == "in-use":
        further = program.rules.sensitivity.natural_step * max(map(abs, row.coefficients.values()))
    slack = 0.0 if short <= TINY * 100 else short + further
    return Row(row.name, row.coefficients, row.sense, row.bound + (slack if row.sense == "<=" else -slack))


def _nearest_rounding(
    program: Program, plan: Plan, rows: Sequence[Row], grid: Grid, starts: Amounts, *, proved: bool
) -> Rounded | None:
    """Return the whole steps that miss a wish narrower than a step by least; law and total are kept."""
    wishes = {row.name for row in rows if _is_wish(program, row)}
    kept = [row for row in rows if row.name not in wishes]
    narrow = [row for row in rows if row.name in wishes]
    try:
        units = nearest_units(plan.amounts, starts, narrow, kept, grid)
    except SolverError:
        return None
    return None if units is None else Rounded(grid, units, tuple(sorted(wishes)), proved)


def _is_wish(program: Program, row: Row) -> bool:
    found = program.demand_of.get(row.name)
    return found is not None and found[0].rank == "wish"


def _preferred_steps(program: Program, plan: Plan, starts: Amounts) -> list[float]:
    rules = program.rules.rounding
    if not plan.moves:
        return []
    smallest = min(max(starts[key], plan.amounts[key]) for key in plan.moves)
    shortest = min(plan.moves.values())
    wanted = [
        step
        for step in rules.preferred_steps
        if step <= smallest * rules.preferred_share and step <= shortest
    ]
    return [*wanted, 1 / rules.per_percent]
