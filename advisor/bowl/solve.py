"""From demands on a bowl to whole grams that are added: options, program, caps, steps."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from advisor.bowl.options import AdditionOptions, by_rank, rows_over, wets
from advisor.optimise.addition import Added, Addition, Option, least_addition
from advisor.optimise.conflict import irreducible
from advisor.optimise.problem import CERTIFIED
from advisor.optimise.row import Row
from advisor.optimise.steps import Steps, close_steps, whole_steps
from advisor.recipe.demand import Demand
from advisor.rulebook.bowl import BowlCaps

WHOLE = 100.0
TINY = 1e-9
_OFF_PRICE = 0.5
_ALL_BUT = 0.999
_LAST_GROUP = 1e2
_EACH_GROUP = 1e1


@dataclass(frozen=True)
class AdditionTask:
    """What is asked of the program for one bowl; every amount is in percent of the bowl as it is.

    Parameters
    ----------
    available : AdditionOptions
        What may be added.
    law, targets, bands : sequence of Demand
        What must hold, what the report asks, and everything else.
    bend_prices : mapping of str to float
        What a point missed costs by the rank of a demand.
    step : float
        One step of the balance.
    least : int
        Fewest steps that weigh well.
    caps : BowlCaps, optional
        The most in one go and in all; None where there is no dough.
    newcomers_at_most : int, optional
    """

    available: AdditionOptions
    law: Sequence[Demand]
    targets: Sequence[Demand]
    bands: Sequence[Demand]
    bend_prices: Mapping[str, float]
    step: float
    least: int
    caps: BowlCaps | None = None
    newcomers_at_most: int | None = None

    @property
    def base(self) -> Mapping[str, float]:
        """What is in the bowl."""
        return self.available.context.amounts

    @cached_property
    def keys(self) -> tuple[str, ...]:
        """Every material in canonical order."""
        return tuple(sorted(self.available.context.ingredients))

    def rows(self, demands: Sequence[Demand]) -> list[Row]:
        """Return the rows of demands."""
        return rows_over(demands, self.base, self.keys, self.bend_prices)

    @cached_property
    def law_rows(self) -> list[Row]:
        """The rows that must hold, if need be after a second go, each with a largest coefficient of 1."""
        return [row for demand in self.law for row in demand.rows(self.keys, None)]

    @cached_property
    def hard_rows(self) -> list[Row]:
        """The law, and that what is only topped up does not pass its share."""
        return [*self.law_rows, *self.topping_rows]

    @cached_property
    def topping_rows(self) -> list[Row]:
        """The rows of what is only topped up."""
        return self.available.topping_rows(self.least * self.step)

    @cached_property
    def groups(self) -> list[list[Row]]:
        """The rows of the report, then those of everything else in the order of their ranks."""
        return [self.rows(group) for group in (self.targets, *by_rank(self.bands))]

    def addition(self, options: Sequence[Option]) -> Addition:
        """Return the program over some options."""
        cheapest = min((option.price for option in options), default=0.0)
        sliver = WHOLE * self.available.levers.sliver
        return Addition(
            self.base,
            options,
            self.hard_rows,
            self.groups,
            fee=cheapest * (max(self.step, sliver) if self.available.own_blend else self.step),
            sliver=sliver,
            newcomers_at_most=self.newcomers_at_most,
        )

    def whole(self, task: Addition) -> Added | None:
        """Return everything that is needed, within what a dough may take in all unless the law asks more."""
        if self.caps is None:
            return least_addition(task)
        most = WHOLE * (1 + self.caps.in_all)
        in_all = Row("in-all", dict.fromkeys(self.keys, 1.0), "<=", most)
        return least_addition(replace(task, hard=[*task.hard, in_all])) or least_addition(task)

    def go_share(self, added: Mapping[str, float]) -> float:
        """Return how much of an addition (0..1) goes in at once."""
        if self.caps is None:
            return 1.0
        liquid, powder = self._sums(added)
        return min(
            1.0,
            WHOLE * self.caps.liquid / liquid if liquid else 1.0,
            WHOLE * self.caps.powder / powder if powder else 1.0,
        )

    def _sums(self, added: Mapping[str, float]) -> tuple[float, float]:
        ingredients = self.available.context.ingredients
        liquid = sum(amount for key, amount in added.items() if wets(ingredients[key]))
        return liquid, sum(added.values()) - liquid

    def cap_rows(self) -> list[Row]:
        """Return the rows that keep one go within the caps."""
        if self.caps is None:
            return []
        ingredients = self.available.context.ingredients
        rows = []
        for name, cap in (("liquid", self.caps.liquid), ("powder", self.caps.powder)):
            of = {key: 1.0 for key in self.keys if wets(ingredients[key]) == (name == "liquid")}
            rows.append(Row(f"cap:{name}", of, "<=", WHOLE * cap + sum(self.base[key] for key in of)))
        return rows


@dataclass(frozen=True)
class AdditionPlan:
    """What goes in.

    ``counts`` in steps of the balance; ``exact`` this go and ``whole`` everything that is needed [% of the
    bowl]; ``blended`` the materials that stand in for one another in the recipe's own proportions.
    """

    counts: Mapping[str, int]
    exact: Mapping[str, float]
    whole: Mapping[str, float]
    share: float
    blended: frozenset[str]
    hopeless: bool


def plan_addition(task: AdditionTask) -> AdditionPlan | None:
    """Return what to add, or None where no addition restores the law."""
    left_out: frozenset[str] = frozenset()
    kept: set[str] | None = None
    while True:
        options = task.available.options(left_out)
        addition = task.addition(options if kept is None else [one for one in options if one.name in kept])
        whole = task.whole(addition)
        if whole is None:
            return None
        share = task.go_share(whole.amounts)
        crumb = _crumb(task, addition.options, whole, share)
        if crumb is not None:
            left_out |= {crumb}
            continue
        counts = _counted(task, addition, whole, share)
        taken = [option for option in addition.options if set(option.members) & set(counts)]
        names = {option.name for option in taken}
        if not names or names == set(whole.by_option) or names == kept:
            break
        kept = names
    blended = frozenset(key for option in taken if len(option.members) > 1 for key in option.members)
    most = WHOLE * task.caps.in_all if task.caps else float("inf")
    return AdditionPlan(
        counts=counts,
        exact={key: share * amount for key, amount in whole.amounts.items()},
        whole=whole.amounts,
        share=share,
        blended=blended,
        hopeless=whole.total >= most * _ALL_BUT,
    )


def _crumb(task: AdditionTask, options: Sequence[Option], whole: Added, share: float) -> str | None:
    """Return the smallest member of a blend that would weigh too little; None where all weigh enough."""
    small = [
        (part, key)
        for option in options
        if len(option.members) > 1 and option.name in whole.by_option
        for key, of in option.members.items()
        if (part := of * whole.by_option[option.name] * share) < task.least * task.step
    ]
    return min(small)[1] if small else None


def _counted(task: AdditionTask, addition: Addition, whole: Added, share: float) -> dict[str, int]:
    """Return whole steps near the exact go that meet all it meets; as far as they can where none do."""
    exact = {key: share * amount for key, amount in whole.amounts.items()}
    if not exact:
        return {}
    after = {key: task.base[key] + exact.get(key, 0.0) for key in task.keys}
    strict = [row for row in (*task.hard_rows, *task.cap_rows()) if row.gap(after) <= CERTIFIED]
    met = [
        [replace(row, penalty=None) for row in group if row.gap(after) <= CERTIFIED] for group in task.groups
    ]
    missed = share < 1 or sum(map(len, met)) < sum(map(len, task.groups))
    prices, off_prices = _prices(addition.options, exact, nearest=missed)
    steps = Steps(
        task.base,
        exact,
        [*strict, *(row for group in met for row in group)],
        task.step,
        task.least,
        prices,
        off_prices,
    )
    found = close_steps(steps)
    if found is not None and (missed or off_prices or _proved_near(found, exact, prices, task.step)):
        return found
    found = whole_steps(steps) or found
    if not missed and (found is None or not _proved_near(found, exact, prices, task.step)):
        pool = _second_choices(task, addition, whole)
        wider = {key: exact.get(key, 0.0) for key in sorted({*exact, *pool})}
        more = whole_steps(replace(steps, exact=wider))
        if more is not None and (found is None or _cost(more, prices) < _cost(found, prices)):
            found = more
    if found is not None:
        return found
    soft = [
        replace(row, penalty=_LAST_GROUP * _EACH_GROUP**later * (row.penalty or 1.0))
        for later, group in enumerate(reversed(task.groups))
        for row in group
        if row.gap(after) <= CERTIFIED
    ]
    return whole_steps(replace(steps, rows=[*strict, *soft])) or {}


def _proved_near(
    counts: Mapping[str, int], exact: Mapping[str, float], prices: Mapping[str, float], step: float
) -> bool:
    """Tell whether steps cost at most one step more than the least any whole steps can cost."""
    least = sum(prices[key] * amount for key, amount in exact.items()) / step
    return _cost(counts, prices) <= least + max(prices[key] for key in exact) + TINY


def _cost(counts: Mapping[str, int], prices: Mapping[str, float]) -> float:
    return sum(prices[key] * count for key, count in counts.items())


def _prices(
    options: Sequence[Option], exact: Mapping[str, float], *, nearest: bool
) -> tuple[dict[str, float], dict[str, float]]:
    """Return what a unit and what a unit off costs: the least mass, or the nearest where not all is met."""
    if nearest:
        return {}, dict.fromkeys(exact, 1.0)
    prices: dict[str, float] = {}
    off_prices: dict[str, float] = {}
    for option in options:
        for key in option.members:
            prices[key] = min(prices.get(key, option.price), option.price)
            if len(option.members) > 1:
                off_prices[key] = _OFF_PRICE
    return prices, off_prices


def _second_choices(task: AdditionTask, addition: Addition, whole: Added) -> set[str]:
    """Return the materials of the best additions that do without one of the options taken."""
    keys: set[str] = set()
    for name in whole.by_option:
        others = [option.name for option in addition.options if option.name != name]
        second = task.whole(addition.only(others))
        if second is not None:
            keys |= set(second.amounts)
    return keys


def conflicting_law(task: AdditionTask) -> list[str]:
    """Return the names of an irreducible set of rows of the law that no addition restores."""
    options = task.available.options()

    def possible(rows: Sequence[Row]) -> bool:
        alone = replace(task.addition(options), hard=[*task.topping_rows, *rows], groups=())
        return least_addition(alone) is not None

    return [row.name for row in irreducible(task.law_rows, possible)]
