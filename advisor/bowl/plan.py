"""From demands on a bowl to whole grams that are added: options, program, one go, steps."""

import math
from collections.abc import Mapping, Sequence

from advisor.bowl.asked import by_rank, rows_over, within_a_step
from advisor.bowl.options import AdditionOptions, wets
from advisor.frozen import cached_property, dataclass, replace
from advisor.optimise.addition import Added, Addition, least_addition
from advisor.optimise.conflict import irreducible
from advisor.optimise.row import Row
from advisor.optimise.steps import Steps, nearest_steps
from advisor.recipe.demand import Demand
from advisor.rulebook.bowl import BowlCaps
from advisor.schema.base import WHOLE

_ALL_BUT = 0.999


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
        One step of the balance. It counts only once the addition is turned into steps, so that a coarse
        balance is told to do what the finest would, as nearly as it can.
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

    @cached_property
    def law_rows(self) -> list[Row]:
        """The rows that must hold, if need be after a second go, each with a largest coefficient of 1."""
        return [row for demand in self.law for row in demand.rows(self.keys, None)]

    @cached_property
    def topping_rows(self) -> list[Row]:
        """The rows of what is only topped up."""
        return self.available.topping_rows()

    def groups(self, bands: Sequence[Demand]) -> list[list[Row]]:
        """Return the rows of the report, then those of everything else in the order of their ranks."""
        asked = (self.targets, *by_rank(bands))
        return [rows_over(group, self.base, self.keys, self.bend_prices) for group in asked]

    def whole(self) -> Added | None:
        """Return everything that is needed, within what a dough may take in all unless the law asks more."""
        options = self.available.options()
        sliver = WHOLE * self.available.rules.sliver
        task = Addition(
            self.base,
            options,
            [*self.law_rows, *self.topping_rows],
            self.groups(self.bands),
            fee=sliver * min((option.price for option in options), default=0.0),
            sliver=sliver,
            newcomers_at_most=self.newcomers_at_most,
        )
        if self.caps is None:
            return least_addition(task)
        in_all = Row("in-all", {}, "<=", WHOLE * (1 + self.caps.in_all), each=1.0)
        return least_addition(replace(task, hard=[*task.hard, in_all])) or least_addition(task)

    def _is_liquid(self, key: str) -> bool:
        return wets(self.available.context.ingredients[key])

    def go_share(self, added: Mapping[str, float]) -> float:
        """Return how much of an addition (0..1) goes in at once."""
        if self.caps is None:
            return 1.0
        liquid = sum(amount for key, amount in added.items() if self._is_liquid(key))
        powder = sum(added.values()) - liquid
        return min(
            1.0,
            WHOLE * self.caps.liquid / liquid if liquid else 1.0,
            WHOLE * self.caps.powder / powder if powder else 1.0,
        )

    def cap_rows(self) -> list[Row]:
        """Return the rows that keep one go within the caps."""
        if self.caps is None:
            return []
        rows = []
        for liquid, cap in ((True, self.caps.liquid), (False, self.caps.powder)):
            of = {key: 1.0 for key in self.keys if self._is_liquid(key) == liquid}
            rows.append(Row(f"cap:{liquid}", of, "<=", WHOLE * cap + sum(self.base[key] for key in of)))
        return rows

    def counted(self, exact: Mapping[str, float]) -> dict[str, int]:
        """Return whole steps of the balance, each material within a step of the exact addition."""
        bands = within_a_step(self.bands, self.available.context, self.step)
        groups = [[*self.law_rows, *self.cap_rows()], *self.groups(bands), self.topping_rows]
        return nearest_steps(Steps(self.base, exact, groups, self.step, self.least)).counts


@dataclass(frozen=True)
class AdditionPlan:
    """What goes in.

    ``counts`` in steps of the balance; ``exact`` this go and ``whole`` everything that is needed [% of the
    bowl]; ``goes`` in how many goes; ``blended`` the materials that stand in for one another in the recipe's
    own proportions.
    """

    counts: Mapping[str, int]
    exact: Mapping[str, float]
    whole: Mapping[str, float]
    goes: int
    blended: frozenset[str]
    hopeless: bool


def plan_addition(task: AdditionTask) -> AdditionPlan | None:
    """Return what to add, or None where no addition restores the law."""
    whole = task.whole()
    if whole is None:
        return None
    share = task.go_share(whole.amounts)
    exact = {key: share * amount for key, amount in whole.amounts.items()}
    taken = [option for option in task.available.options() if option.name in whole.by_option]
    most = WHOLE * task.caps.in_all if task.caps else math.inf
    return AdditionPlan(
        counts=task.counted(exact),
        exact=exact,
        whole=whole.amounts,
        goes=math.ceil(1 / share - (1 - _ALL_BUT)),
        blended=frozenset(key for option in taken if len(option.members) > 1 for key in option.members),
        hopeless=whole.total >= most * _ALL_BUT,
    )


def conflicting_law(task: AdditionTask) -> list[str]:
    """Return the names of an irreducible set of rows of the law that no addition restores."""
    options = task.available.options()

    def possible(rows: Sequence[Row]) -> bool:
        return least_addition(Addition(task.base, options, [*task.topping_rows, *rows])) is not None

    return [row.name for row in irreducible(task.law_rows, possible)]
