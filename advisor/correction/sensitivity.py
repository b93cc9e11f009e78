"""Says what easing a pressing bound would change; each is proved by asking again with that bound eased."""

from collections.abc import Callable, Iterator

from advisor.case.solve import Program, Solved, rounded
from advisor.frozen import dataclass, replace
from advisor.recipe.demand import Demand, Side
from advisor.recipe.measures import Amounts, Measures
from advisor.schema.base import WHOLE
from advisor.schema.findings import Sensitivity
from advisor.writing import in_state

_EXPLAINED = ("wish", "use")
_TRIED_AT_MOST = 6
_NOTICED = 0.005
_PRICE_NOTICED = 0.001


@dataclass(frozen=True)
class Sensitivities:
    """What one natural step more room at a pressing bound would change.

    Parameters
    ----------
    program : Program
    solved : Solved
        What the program came to.
    amounts : mapping
        The rounded answer [%].
    decimals : int
        Of the recipe as it was written.
    again : callable
        Asks a program from the beginning and returns its rounded answer; None where nothing fits.
    """

    program: Program
    solved: Solved
    amounts: Amounts
    decimals: int
    again: Callable[[Program], Amounts | None]

    def told(self) -> tuple[Sensitivity, ...]:
        """Return the effects, the largest first; the law and what is held are never eased."""
        found: list[Sensitivity] = []
        for demand, side in self._pressing():
            effect = self._effect(demand, side)
            if effect is not None:
                found.append(effect)
            if len(found) == _TRIED_AT_MOST:
                break
        found.sort(key=lambda one: (-abs(one.effect), one.name))
        return tuple(found[: self.program.rules.sensitivity.at_most])

    def _pressing(self) -> Iterator[tuple[Demand, Side]]:
        named = (self.program.demand_of.get(name) for name in self.solved.plan.pressing[: 2 * _TRIED_AT_MOST])
        for demand, side in (one for one in named if one is not None):
            eased = demand.kind in _EXPLAINED and not demand.held and demand.minimum != demand.maximum
            if eased and demand.unit == "%" and not self._widened(demand, side):
                yield demand, side

    def _widened(self, demand: Demand, side: Side) -> bool:
        """Tell whether a usual range stands wider than the library has it: nobody can ask it eased."""
        if demand.group != "use":
            return False
        use = self.program.ingredients[demand.about[0]].material.use
        return use is None or demand.bound(side) != getattr(use, side)

    def _effect(self, demand: Demand, side: Side) -> Sensitivity | None:
        step = self.program.rules.sensitivity.natural_step
        bound = demand.bound(side)
        eased = (bound or 0.0) + (step if side == "max" else -step)
        if not bound or not 0 <= eased <= WHOLE:
            return None
        wider = replace(demand, minimum=eased) if side == "min" else replace(demand, maximum=eased)
        reached = self._reached(demand, wider, side)
        if reached is None:
            return None
        room = f"With {step:g} point {'more' if side == 'max' else 'less'} allowed at the "
        room += f"{'upper' if side == 'max' else 'lower'} bound of {in_state(demand.name, demand.state)}"
        told = self._of_price(reached) if self.program.cheapest else self._of_lines(reached)
        if told is None:
            return None
        effect, of, says = told
        return Sensitivity(
            name=demand.name,
            bound=side,
            per=step,
            unit="point",
            effect=effect,
            effect_of=of,
            text=f"{room}, {says}.",
        )

    def _reached(self, demand: Demand, wider: Demand, side: Side) -> Amounts | None:
        """Return the answer with a bound eased: on the loaded program where that is the same walk."""
        program, session = self.program, self.solved.session
        hard = [wider if one is demand else one for one in program.hard]
        name = f"{demand.id}:{side}"
        if not program.cheapest and self.solved.plan.certified and program.newcomers_at_most is None:
            row = next(one for one in wider.rows(program.keys, WHOLE) if one.name == name)
            before = next(one for one in session.problem.rows if one.name == name)
            session.hold(frozenset())
            session.restate(row)
            plan = session.settle(explained=False)
            session.restate(before)
            if plan is not None and plan.certified:
                rows = [row if one.name == name else one for one in program.hard_rows]
                found = rounded(program, plan, self.decimals, rows)
                return None if found is None else found.amounts
        return self.again(replace(program, hard=hard))

    def _of_lines(self, reached: Amounts) -> tuple[float, str, str] | None:
        moves = {key: reached[key] - amount for key, amount in self.amounts.items()}
        key = max(moves, key=lambda one: (round(abs(moves[one]), 6), one))
        if abs(moves[key]) < _NOTICED:
            return None
        effect, end = round(moves[key], 4), self.amounts[key]
        name = self.program.ingredients[key].name
        return effect, key, f"{name} would come to {round(end + effect, 4):g} % instead of {end:g} %"

    def _of_price(self, reached: Amounts) -> tuple[float, str, str] | None:
        price = Measures(self.program.ingredients).price
        before, after = price(self.amounts) or 0.0, price(reached) or 0.0
        if abs(after - before) < _PRICE_NOTICED:
            return None
        says = f"a kilogram would cost {after:.3f} instead of {before:.3f}"
        return round(after - before, 4), "price_per_kg", says
