"""Tries every replacement on one loaded program, and says what keeps one out."""

from collections.abc import Iterable, Mapping

from advisor.case.solve import Program
from advisor.demands.move_prices import move_prices, role_weight
from advisor.frozen import cached_property, dataclass, replace
from advisor.optimise.problem import Plan
from advisor.optimise.row import Row
from advisor.optimise.session import Session
from advisor.recipe.demand import Demand, Side
from advisor.rulebook.ingredient import Ingredient
from advisor.schema.base import WHOLE
from advisor.substitution.replacement import Gap, may_shift_balance

_LEAST_BOUND = 0.1
_FIRM = 100.0
Chosen = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Trial:
    """A replacement, or two, that the program found a recipe for."""

    chosen: Chosen
    plan: Plan
    balanced: bool


@dataclass(frozen=True, slots=True)
class Blame:
    """The demand whose bending would let a replacement in most cheaply, and where it would come to."""

    demand: Demand
    side: Side
    reached: float


@dataclass()
class _Loaded:
    """A program in the solver, with what was last changed in it."""

    session: Session
    balanced: bool = True
    cheap: frozenset[str] = frozenset()


@dataclass(frozen=True)
class Screen:
    """Every candidate in one program; those that are not tried are held where they are.

    Parameters
    ----------
    program : Program
        The recipe, the shelf and every candidate, under all demands but the work and the balance.
    gap : Gap
        What is missing.
    candidates : tuple of str
        What may be tried.
    balance : Demand, optional
        The ratio to be kept where the charge class of the replacement allows.
    excluded : mapping
        Shelf materials that may not meet a candidate.
    at_hand : frozenset of str
        Candidates that may also move while another is tried: levers among the recipe and the shelf.
    """

    program: Program
    gap: Gap
    candidates: Chosen
    balance: Demand | None
    excluded: Mapping[str, frozenset[str]]
    at_hand: frozenset[str]

    @cached_property
    def _weights(self) -> Mapping[str, float]:
        return swap_prices(self.program, self.gap, frozenset())

    @cached_property
    def _cheap(self) -> Mapping[str, float]:
        return swap_prices(self.program, self.gap, frozenset(self.candidates))

    @cached_property
    def _hot(self) -> _Loaded:
        problem = self.program.cost_problem() if self.program.cheapest else self.program.problem()
        rows = [*problem.rows, *self._work_rows(self.candidates), *self._balance_rows]
        weights = {} if self.program.cheapest else self._weights
        problem = replace(problem, rows=rows, weights=weights, mover_fee=0.0, newcomer_fee=0.0)
        return _Loaded(Session(problem))

    @cached_property
    def _soft(self) -> _Loaded:
        """The same program in which every demand may bend at a price by its rank."""
        demands = [*self.program.hard, self._work(self.candidates)]
        rows = [row for demand in demands if demand is not self._absent for row in self._bending(demand)]
        rows += [row for demand in (self.balance,) if demand for row in self._bending(demand)]
        problem = self.program.problem()
        rows = [self.program.total, *self._absent.rows(self.program.keys, WHOLE), *rows]
        problem = replace(problem, rows=rows, weights={}, mover_fee=0.0, newcomer_fee=0.0)
        return _Loaded(Session(problem))

    @cached_property
    def _absent(self) -> Demand:
        return next(demand for demand in self.program.hard if demand.group == "missing")

    def _bending(self, demand: Demand) -> list[Row]:
        """Return the rows of a demand, each at a price for the share of its bound by which it bends."""
        prices = self.program.rules.bend_prices
        firm = demand.rank == "law" or demand.group == "function"
        price = _FIRM if firm else getattr(prices, demand.rank)
        unit = (
            demand.measure.below(self.program.starts) / demand.measure.scale if demand.measure.bottom else 1.0
        )
        rows = []
        for row in demand.rows(self.program.keys, WHOLE):
            side: Side = "min" if row.sense == ">=" else "max"
            asked = max(abs(demand.bound(side) or 0.0), _LEAST_BOUND) * unit
            rows.append(replace(row, penalty=price / asked))
        return rows

    def _work(self, chosen: Iterable[str]) -> Demand:
        return self.gap.demand(self._all(chosen), self.program.starts)

    def _all(self, chosen: Iterable[str]) -> list[Ingredient]:
        return [self.program.ingredients[key] for key in chosen]

    def _work_rows(self, chosen: Iterable[str]) -> list[Row]:
        return self._work(chosen).rows(self.program.keys, WHOLE)

    @cached_property
    def _balance_rows(self) -> list[Row]:
        return [] if self.balance is None else self.balance.rows(self.program.keys, WHOLE)

    def _open(self, session: Session, chosen: Chosen) -> None:
        """Free the chosen, hold the others, and count the work of the chosen."""
        barred = {key for key in chosen for key in self.excluded.get(key, ())}
        session.hold(frozenset(set(self.candidates) - self.at_hand - set(chosen) | barred))
        if len(self.candidates) > 1:
            for row in self._work_rows(chosen):
                session.restate(row)

    def _keep_balance(self, loaded: _Loaded, *, kept: bool) -> None:
        if loaded.balanced is kept:
            return
        loaded.balanced = kept
        for row in self._balance_rows:
            open_end = float("inf") if row.sense == "<=" else -float("inf")
            loaded.session.restate(row if kept else replace(row, bound=open_end))

    def _has_both_classes(self, chosen: Chosen) -> bool:
        """Tell whether anionic and amphoteric matter could both be used at all."""
        if self.balance is None:
            return True
        usable = {*chosen, *self._always}
        return not usable.isdisjoint(self.balance.measure.top) and not usable.isdisjoint(
            self.balance.measure.bottom or ()
        )

    @cached_property
    def _always(self) -> frozenset[str]:
        """What may be used whichever candidate is tried."""
        tried_only = set(self.candidates) - self.at_hand
        gone = frozenset() if self.gap.left else {self.gap.one.key}
        return frozenset(self.program.keys) - tried_only - gone

    def attempt(self, chosen: Chosen) -> Trial | None:
        """Return the recipe of least change with these replacements; None where the demands exclude it.

        The ratio of anionic to amphoteric matter is kept where it can be; where the charge class of the
        replacement does not allow it, it is let go.
        """
        hot = self._hot
        self._open(hot.session, chosen)
        self._price(chosen)
        may_shift = self.balance is not None and may_shift_balance(self.gap, self._all(chosen))
        for balanced in (True, False) if may_shift else (True,):
            if balanced and may_shift and not self._has_both_classes(chosen):
                continue
            self._keep_balance(hot, kept=balanced)
            plan = hot.session.solve()
            if plan is not None:
                return Trial(chosen, plan, balanced)
        return None

    def least(self) -> float | None:
        """Return a price no pair can beat; None where no pair is possible."""
        hot = self._hot
        self._open(hot.session, self.candidates)
        self._price(self.candidates)
        self._keep_balance(hot, kept=False)
        plan = hot.session.solve()
        return None if plan is None else plan.price

    def _price(self, chosen: Chosen) -> None:
        """Price the chosen as replacements and every other candidate as itself."""
        if self.program.cheapest:
            return
        hot = self._hot
        for key in hot.cheap.symmetric_difference(chosen):
            hot.session.weigh(key, self._cheap[key] if key in chosen else self._weights[key])
        hot.cheap = frozenset(chosen)

    def blame(self, chosen: Chosen) -> Blame | None:
        """Return the demand that stands most against these replacements: the one whose bend costs least."""
        soft = self._soft
        self._open(soft.session, chosen)
        self._keep_balance(soft, kept=not may_shift_balance(self.gap, self._all(chosen)))
        plan = soft.session.solve()
        if plan is None:
            return None
        rows = {row.name: row for row in soft.session.problem.rows if row.penalty is not None}
        bent = {name: over * (rows[name].penalty or 0.0) for name, over in plan.overshoot.items()}
        name = max(sorted(bent), key=lambda one: bent[one])
        demand, side = self._demand_of(chosen)[name]
        return Blame(demand, side, demand.measure.of(plan.amounts) or 0.0)

    def _demand_of(self, chosen: Chosen) -> dict[str, tuple[Demand, Side]]:
        demands = [self._work(chosen), *([self.balance] if self.balance else [])]
        sides: tuple[Side, ...] = ("min", "max")
        return self.program.demand_of | {f"{d.id}:{side}": (d, side) for d in demands for side in sides}


def swap_prices(program: Program, gap: Gap, chosen: Iterable[str]) -> dict[str, float]:
    """Return what moving each line costs.

    Little for the replacements and for a new liquid that makes good what they bring or take, nothing for what
    is missing.
    """
    prices, bounds = move_prices(program.ingredients, program.starts, program.rules), gap.rules.bounds
    liquids = {key for key in program.newcomers if program.ingredients[key].main_role in bounds.makes_good}
    for key in liquids.union(chosen):
        one = program.ingredients[key]
        as_new = move_prices({key: one}, {}, program.rules)[key]
        tied = as_new / (role_weight(one, program.rules) + program.rules.prices.new_material)
        prices[key] = bounds.replacement_price * tied
    return {**prices, gap.one.key: 0.0}
