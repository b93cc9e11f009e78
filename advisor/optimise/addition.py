"""Decides what is best added to something nothing can be taken out of."""

from collections.abc import Mapping, Sequence

from advisor.frozen import cached_property, dataclass, field
from advisor.optimise.problem import CERTIFIED, MOVED
from advisor.optimise.row import Row, weighed
from advisor.optimise.solver import INFINITY, LinearProgram, Model
from advisor.sums import summed

_EASE = 1e-6
_SLIVER_MAY_COST = 0.01
_TRIES_AT_MOST = 12
_LARGEST = 100.0


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
        Options below this are left out where that misses no row by more than a hundredth of what it is
        missed by anyway.
    newcomers_at_most : int, optional

    Notes
    -----
    The program is loaded once and solved again a limited number of times: once for each group, once for the
    price, and for at most a dozen options without each of them.

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

    @cached_property
    def _single(self) -> list[tuple[int, str]]:
        """The place and the material of each option of one material."""
        return [(at, next(iter(o.members))) for at, o in enumerate(self.options) if len(o.members) == 1]

    @cached_property
    def _blended(self) -> list[tuple[int, Mapping[str, float]]]:
        """The place and the members of every other option."""
        return [(at, o.members) for at, o in enumerate(self.options) if len(o.members) != 1]

    def through(self, row: Row) -> dict[int, float]:
        """Return a row over the whole as coefficients of the options, by their place, then of their sum."""
        of = row.coefficients
        found = {at: c for at, key in self._single if (c := of.get(key))}
        found |= {at: c for at, members in self._blended if (c := weighed(members, of))}
        return found | {len(self.options): row.each} if row.each else found


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
    if any(row.gap(task.base) > CERTIFIED and not task.through(row) for row in task.hard):
        return None
    if not task.options:
        return Added({}, {})
    program = _Program(task)
    for place in range(len(task.groups)):
        if not program.meet(place):
            return None
    taken = program.cheapest()
    if taken is None:
        return None
    return _added(task, program.without_slivers(program.with_fewer(taken)))


@dataclass()
class _Program:
    """The program of an addition, loaded once: a column for each option and each row that may be missed."""

    task: Addition
    _model: Model = field(init=False)
    _missed: list[dict[int, float]] = field(init=False)

    def __post_init__(self) -> None:
        program, task = LinearProgram(), self.task
        for _ in task.options:
            program.column(0.0)
        shares = {at: sum(option.members.values()) for at, option in enumerate(task.options)}
        program.row({**shares, program.column(0.0): -1.0}, 0.0, 0.0)
        for row in task.hard:
            self._load(program, row)
        self._missed = [
            {
                column: row.penalty or 1.0
                for row in (one.priced(one.penalty or 1.0) for one in group)
                if (column := self._load(program, row, may_miss=True)) is not None
            }
            for group in task.groups
        ]
        if task.newcomers_at_most is not None:
            new = [place for place, option in enumerate(task.options) if option.newcomer]
            program.few(dict.fromkeys(new, _LARGEST), task.newcomers_at_most)
        self._most = dict.fromkeys((column for group in self._missed for column in group), INFINITY)
        self._columns = len(program.costs)
        self._prices = {place: option.price for place, option in enumerate(task.options)}
        self._costs: Mapping[int, float] = {}
        self._model = Model(program)

    def _load(self, program: LinearProgram, row: Row, *, may_miss: bool = False) -> int | None:
        """Add a row; return the column of what it is missed by, None where no option touches it."""
        coefficients = self.task.through(row)
        if not coefficients:
            return None
        return program.load(row, coefficients, row.value(self.task.base), 0.0 if may_miss else None)

    def _solved(self, costs: Mapping[int, float]) -> Sequence[float] | None:
        if costs is not self._costs:
            self._model.price([costs.get(column, 0.0) for column in range(self._columns)])
            self._costs = costs
        solution = self._model.solve()
        return solution.values if solution.feasible else None

    def meet(self, place: int) -> bool:
        """Miss a group by as little as the groups before it let, and keep it so; False where none can be."""
        values = self._solved(self._missed[place])
        if values is None:
            return False
        for column in self._missed[place]:
            by = values[column]
            self._most[column] = by + _EASE if by > CERTIFIED else max(by, 0.0)
            self._model.bound_column(column, 0.0, self._most[column])
        return True

    def cheapest(self) -> list[float] | None:
        """Return what of each option is taken at the least price."""
        values = self._solved(self._prices)
        return None if values is None else list(values[: len(self.task.options)])

    def with_fewer(self, taken: list[float]) -> list[float]:
        """Leave options out, the smallest first, as long as that costs less than the fee of each."""
        if not self.task.fee:
            return taken
        tried: set[int] = set()
        while (place := self._smallest(taken, tried)) is not None and len(tried) < _TRIES_AT_MOST:
            tried.add(place)
            fewer = self._without(place)
            if fewer is not None and self._cost(fewer) < self._cost(taken) - MOVED:
                taken = fewer
            else:
                self._model.bound_column(place, 0.0, INFINITY)
        return taken

    def without_slivers(self, taken: list[float]) -> list[float]:
        """Leave out what is next to nothing, where that makes next to no difference."""
        tried: set[int] = set()
        while (place := self._smallest(taken, tried)) is not None and len(tried) < _TRIES_AT_MOST:
            if taken[place] > self.task.sliver:
                break
            tried.add(place)
            self._loosen(_SLIVER_MAY_COST)
            fewer = self._without(place)
            if fewer is not None and sum(fewer) <= sum(taken) + self.task.sliver:
                taken = fewer
            else:
                self._model.bound_column(place, 0.0, INFINITY)
            self._loosen(0.0)
        return taken

    def _loosen(self, share: float) -> None:
        for column, most in self._most.items():
            if most > CERTIFIED or share:
                self._model.bound_column(column, 0.0, (1 + share) * most + (_EASE if share else 0.0))
            else:
                self._model.bound_column(column, 0.0, most)

    def _smallest(self, taken: Sequence[float], tried: set[int]) -> int | None:
        used = [(amount, place) for place, amount in enumerate(taken) if amount > MOVED]
        return min((pair for pair in used if pair[1] not in tried), default=(0.0, None))[1]

    def _without(self, place: int) -> list[float] | None:
        self._model.bound_column(place, 0.0, 0.0)
        return self.cheapest()

    def _cost(self, taken: Sequence[float]) -> float:
        pairs = zip(self.task.options, taken, strict=True)
        return sum(option.price * amount + self.task.fee for option, amount in pairs if amount > MOVED)


def _added(task: Addition, taken: Sequence[float]) -> Added:
    pairs = [pair for pair in zip(task.options, taken, strict=True) if pair[1] > MOVED]
    amounts = summed(
        (key, share * amount) for option, amount in pairs for key, share in option.members.items()
    )
    return Added(dict(sorted(amounts.items())), {option.name: amount for option, amount in pairs})
