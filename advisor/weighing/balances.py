"""Where a recipe becomes whole steps of the balances, with every limit proved again."""

import math
from collections.abc import Mapping, Sequence
from fractions import Fraction

from advisor.case.case import Case
from advisor.demands.dough import wetness_within
from advisor.errors import Fault, InvalidRequest
from advisor.frozen import cached_property, dataclass, replace
from advisor.optimise.balances import Share, in_units, units_per_gram, weigh_out
from advisor.optimise.problem import CERTIFIED
from advisor.optimise.row import Row
from advisor.recipe.demand import RANKS, Demand
from advisor.weighing.schema import WeighingRequest
from advisor.weighing.tolerance import Balances, make_up, potent, steps_of

_FINEST_PER_GRAM = 10**6


@dataclass(frozen=True)
class Batch:
    """The batch in units of the balances: what is wanted of each line, its step and the total."""

    per_gram: int
    balances: Balances
    potent: frozenset[str]
    wanted: Mapping[str, float]
    steps: Mapping[str, int]
    total: int

    def grams(self, units: float) -> float:
        """Return units as grams."""
        return round(units / self.per_gram, 9)


def on_balances(asked_for: WeighingRequest, case: Case) -> Batch:
    """Return the batch in units of the balances.

    Raises
    ------
    InvalidRequest
        A step is no step of a balance, or too coarse for the batch.
    """
    coarse = asked_for.balance_step
    fine = coarse if asked_for.fine_balance_step is None else asked_for.fine_balance_step
    _check_steps(coarse, fine)
    rules, own = case.rulebook.weighing, case.formula.amounts
    per_gram = units_per_gram([coarse, fine])
    balances = Balances(in_units(coarse, per_gram), in_units(fine, per_gram))
    legal = [demand for demand in case.demands if demand.kind == "law"]
    sensitive = potent(case.formula.ingredients, own, legal, rules)
    batch = Fraction(repr(asked_for.batch_grams)) * per_gram
    rough = {key: float(batch) * percent / 100 for key, percent in own.items()}
    steps = steps_of(rough, sensitive, balances, per_gram, rules)
    pace = math.gcd(*steps.values())
    total = pace * math.floor(batch / pace + Fraction(1, 2))
    if total < sum(steps.values()):
        raise InvalidRequest(
            "The balance is too coarse for this batch.",
            [
                Fault(
                    "/balance_step",
                    f"{len(steps)} lines of at least one step each weigh more than the batch",
                    "take a finer balance or a larger batch",
                )
            ],
        )
    wanted = {key: total * percent / 100 for key, percent in own.items()}
    making_up = make_up(wanted, steps, sensitive | _held(case), balances, total)
    if making_up is not None:
        steps = {**steps, making_up: balances.fine}
    return Batch(per_gram, balances, sensitive, wanted, steps, total)


def _check_steps(coarse: float, fine: float) -> None:
    for where, step in (("/balance_step", coarse), ("/fine_balance_step", fine)):
        if Fraction(repr(step)).denominator > _FINEST_PER_GRAM:
            raise InvalidRequest(
                "No balance reads to that step.",
                [Fault(where, "has more than six decimals", "give what the balance shows, such as 0.01")],
            )
    if fine > coarse:
        raise InvalidRequest(
            "The finer balance is the coarser one.",
            [Fault("/fine_balance_step", f"is larger than the balance step {coarse:g}", "exchange the two")],
        )


def _held(case: Case) -> frozenset[str]:
    return frozenset(key for d in case.demands if d.held for key in d.about)


@dataclass(frozen=True)
class Weighed:
    """A batch in whole steps of the balances; ``units`` are the smallest either of them shows."""

    case: Case
    batch: Batch

    @cached_property
    def demands(self) -> list[Demand]:
        """What is asked of the weighed batch: all that holds of the recipe, and its wetness."""
        asked_of = [self._loosened(demand) for demand in self.case.demands]
        index = self.case.formula.measures.wetness()
        if not (own := index.of(self.case.formula.amounts)):
            return asked_of
        rules = self.case.rulebook.weighing.wetness
        low, high = own * (1 - rules.band), own * (1 + rules.band)
        return [*asked_of, wetness_within(index, low, high, "wetness-kept", rules.basis, rules.source)]

    def _loosened(self, demand: Demand) -> Demand:
        """Return the demand; a bound at the line's own percent gives half a step of its balance."""
        if not demand.held and demand.group != "use":
            return demand
        key = demand.about[0]
        half = 50 * self.batch.steps[key] / self.batch.total
        own = self.case.formula.amounts[key]
        low, high = demand.minimum, demand.maximum
        return replace(
            demand,
            minimum=max(0.0, own - half) if low == own else low,
            maximum=own + half if high == own else high,
        )

    @cached_property
    def broken(self) -> list[Demand]:
        """What the recipe itself breaks."""
        return [demand for demand in self.demands if demand.gap(self.case.formula.amounts) > CERTIFIED]

    @cached_property
    def units(self) -> dict[str, int]:
        """The units of each line; what no steps can keep is given up, the law last.

        Raises
        ------
        InvalidRequest
            No whole steps add up to the batch.
        """
        batch = self.batch
        share = Share(batch.wanted, batch.steps, batch.total, batch.per_gram, _held(self.case))
        units = weigh_out(share, self._ladder())
        if units is None:
            raise InvalidRequest(
                "No whole steps of this balance add up to the batch.",
                [Fault("/balance_step", "is too coarse for the small lines", "take a finer balance")],
            )
        return units

    def _ladder(self) -> list[Sequence[Row]]:
        kept = [demand for demand in self.demands if demand not in self.broken]
        whole = self.batch.total / self.batch.per_gram
        ladder: list[Sequence[Row]] = []
        for given_up in ((), RANKS[:2], *((rank,) for rank in RANKS[2:])):
            left = [demand for demand in kept if demand.rank not in given_up]
            if not ladder or len(left) < len(kept):
                ladder.append([row for one in left for row in one.rows(self.case.formula.keys, whole)])
            kept = left
        return ladder

    @cached_property
    def grams(self) -> dict[str, float]:
        """What each line weighs [g]."""
        return {key: self.batch.grams(count) for key, count in self.units.items()}

    @cached_property
    def percents(self) -> dict[str, float]:
        """What each line is of the batch as weighed [%]."""
        return {key: 100 * count / self.batch.total for key, count in self.units.items()}
