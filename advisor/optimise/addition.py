"""Decides what is best added to something nothing can be taken out of."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from advisor.optimise.problem import CERTIFIED, MOVED, Plan, Problem, Session
from advisor.optimise.row import Row

_EASE = 1e-6
_SLIVER_MAY_COST = 0.01


@dataclass(frozen=True, slots=True)
class Option:
    """What may be added as one: a material, or several in fixed proportions.

    ``members`` holds the share (0..1) of each material; ``price`` what one unit costs in the order of
    preference; ``newcomer`` whether it brings a material that is not there yet.
    """

    name: str
    members: Mapping[str, float]
    price: float
    newcomer: bool = False


@dataclass(frozen=True)
class Addition:
    """Add options >= 0 to a base so that rows over the whole are met, the most sacred first.

    Parameters
    ----------
    base : mapping of str to float
        What is there.
    options : sequence of Option
    hard : sequence of Row
        What must hold.
    groups : sequence of sequences of Row
        What is to hold as far as the groups before it let it; each row carries the price of its violation
        within its group.
    fee : float
        What an option more may cost before it is left out.
    sliver : float
        Options below this are left out where that misses no group by more than a hundredth of what it is
        missed by anyway.
    newcomers_at_most : int, optional

    Examples
    --------
    >>> weaker = Row("strength", {"strong": 0.3, "water": -0.4}, "<=", 0.0, penalty=1.0)
    >>> task = Addition({"strong": 300.0}, [Option("water", {"water": 1.0}, 1.0)], groups=[[weaker]])
    >>> round(least_addition(task).amounts["water"], 6)
    225.0
    """

    base: Mapping[str, float]
    options: Sequence[Option]
    hard: Sequence[Row] = ()
    groups: Sequence[Sequence[Row]] = ()
    fee: float = 0.0
    sliver: float = 0.0
    newcomers_at_most: int | None = None

    def problem(self, rows: Iterable[Row], *, priced: bool) -> Problem:
        """Return the program over the options under some rows over the whole."""
        return Problem(
            starts=dict.fromkeys((option.name for option in self.options), 0.0),
            weights={option.name: option.price for option in self.options} if priced else {},
            rows=[through for row in rows if (through := self._through(row)) is not None],
            mover_fee=self.fee if priced else 0.0,
            newcomers=frozenset(option.name for option in self.options if option.newcomer),
            newcomers_at_most=self.newcomers_at_most,
        )

    def _through(self, row: Row) -> Row | None:
        """Return a row over the whole as a row over what is added; None where no option touches it."""
        coefficients = {}
        for option in self.options:
            c = sum(share * row.coefficients.get(key, 0.0) for key, share in option.members.items())
            if c:
                coefficients[option.name] = c
        if not coefficients:
            return None
        return replace(row, coefficients=coefficients, bound=row.bound - row.value(self.base))

    def out_of_reach(self, row: Row) -> bool:
        """Tell whether a row is broken and no option touches it."""
        return self._through(row) is None and row.gap(self.base) > CERTIFIED

    def only(self, names: Iterable[str]) -> "Addition":
        """Return the same task with some of the options."""
        kept = set(names)
        return replace(self, options=[option for option in self.options if option.name in kept])


@dataclass(frozen=True, slots=True)
class Added:
    """What is best added.

    ``amounts`` by material, ``by_option`` by option.
    """

    amounts: Mapping[str, float]
    by_option: Mapping[str, float]

    @property
    def total(self) -> float:
        """All that is added."""
        return sum(self.by_option.values())


def least_addition(task: Addition) -> Added | None:
    """Return the cheapest addition that meets the groups in their order as far as they can be met.

    Returns
    -------
    Added or None
        None where the hard rows cannot be met.
    """
    if any(task.out_of_reach(row) for row in task.hard):
        return None
    kept = list(task.hard)
    if not task.options:
        return Added({}, {})
    every = [replace(row, penalty=None) for group in task.groups for row in group]
    if not any(task.out_of_reach(row) for row in every):
        plan = _settled(task, [*kept, *every])
        if plan is not None:
            return _added(task, plan)
    for group in task.groups:
        kept += _met_or_eased(task, kept, group)
    plan = _settled(task, kept)
    return None if plan is None else _without_slivers(task, _added(task, plan))


def _settled(task: Addition, rows: Sequence[Row]) -> Plan | None:
    return Session(task.problem(rows, priced=True)).settle()


def _met_or_eased(task: Addition, kept: Sequence[Row], group: Sequence[Row]) -> list[Row]:
    """Return a group's rows as hard rows, each eased by the least violation of the group."""
    strict = [replace(row, penalty=None) for row in group]
    plan = Session(task.problem([*kept, *group], priced=False)).solve()
    if plan is None:
        return []
    return [
        replace(row, bound=row.bound + (over + _EASE if row.sense == "<=" else -over - _EASE))
        if (over := plan.overshoot.get(row.name, 0.0)) > CERTIFIED
        else row
        for row in strict
    ]


def _without_slivers(task: Addition, found: Added) -> Added:
    for name, amount in sorted(found.by_option.items(), key=lambda item: (item[1], item[0])):
        if amount > task.sliver:
            break
        fewer = least_addition(task.only(other for other in found.by_option if other != name))
        if fewer is not None and _as_good(task, fewer, found):
            return fewer
    return found


def _as_good(task: Addition, fewer: Added, found: Added) -> bool:
    if fewer.total > found.total + task.sliver:
        return False
    missed, missed_anyway = ([_missed(task, group, of) for group in task.groups] for of in (fewer, found))
    return all(
        more <= (1 + _SLIVER_MAY_COST) * anyway + _EASE
        for more, anyway in zip(missed, missed_anyway, strict=True)
    )


def _missed(task: Addition, group: Sequence[Row], added: Added) -> float:
    whole = {key: task.base.get(key, 0.0) + amount for key, amount in added.amounts.items()}
    return sum((row.penalty or 1.0) * row.gap({**task.base, **whole}) for row in group)


def _added(task: Addition, plan: Plan) -> Added:
    amounts: dict[str, float] = {}
    by_option = {}
    for option in task.options:
        taken = plan.amounts[option.name]
        if taken <= MOVED:
            continue
        by_option[option.name] = taken
        for key, share in option.members.items():
            amounts[key] = amounts.get(key, 0.0) + share * taken
    return Added(dict(sorted(amounts.items())), by_option)
