"""What is optimised, and what comes of it: a problem over amounts, and a plan that solves it."""

from collections.abc import Mapping, Sequence

from advisor.frozen import dataclass, field
from advisor.optimise.row import Row, refuse_growing

CERTIFIED = 1e-7
MOVED = 1e-7


@dataclass(frozen=True)
class Problem:
    """Find amounts >= 0 that meet every row at the least price.

    The price is ``sum weight * |amount - start|  +  sum cost * amount  +  sum penalty * violation``, the last
    over the rows that carry a penalty. Materials and rows stand in canonical order, so that the order of a
    request cannot change an answer.

    Parameters
    ----------
    starts : mapping of str to float
        Every material that may be used, with what there is of it now (0 for a new one).
    weights : mapping of str to float
        Price of moving a material by one unit; absent means free.
    costs : mapping of str to float
        Price of one unit of a material; absent means none.
    rows : sequence of Row
    mover_fee, newcomer_fee : float
        What each line that moves, and each new material besides, costs when small moves are weighed.
    newcomers : frozenset of str
        Materials that count as new.
    newcomers_at_most : int, optional
        How many new materials may be used.
    least_moves : mapping of str to float
        Moves smaller than this are avoided where every row can be met without; absent means any is made.
    sterner : frozenset of str
        Names of rows with a penalty that are asked for once more at a far higher price where they fell short.
    movers_at_most : int, optional
        More lines than this are moved only where the rows cannot be met otherwise.

    Examples
    --------
    >>> from advisor.optimise.session import optimise
    >>> blend = Problem({"strong": 0.0, "water": 300.0}, rows=(
    ...     Row("total", {"strong": 1.0, "water": 1.0}, "=", 525.0),
    ...     Row("strength", {"strong": 0.7}, "=", 210.0),
    ... ))
    >>> plan = optimise(blend)
    >>> round(plan.amounts["water"], 6)
    225.0
    """

    starts: Mapping[str, float]
    weights: Mapping[str, float] = field(default_factory=dict)
    costs: Mapping[str, float] = field(default_factory=dict)
    rows: Sequence[Row] = ()
    mover_fee: float = 0.0
    newcomer_fee: float = 0.0
    newcomers: frozenset[str] = frozenset()
    newcomers_at_most: int | None = None
    least_moves: Mapping[str, float] = field(default_factory=dict)
    movers_at_most: int | None = None
    sterner: frozenset[str] = frozenset()

    def __post_init__(self) -> None:
        """Put materials and rows into canonical order; a row over a whole that grows is none of a problem."""
        refuse_growing(self.rows)
        object.__setattr__(self, "starts", dict(sorted(self.starts.items())))
        object.__setattr__(self, "rows", tuple(sorted(self.rows, key=lambda row: row.name)))


@dataclass(frozen=True, slots=True)
class Plan:
    """Proved amounts of a problem.

    ``moves`` says by how much each material moved that did, the smallest first; ``overshoot`` by how much
    each row with a penalty is broken; ``price`` the objective with the fees; ``pressing`` names the hard rows
    whose bound costs something.
    """

    amounts: Mapping[str, float]
    moves: Mapping[str, float]
    overshoot: Mapping[str, float]
    price: float
    pressing: tuple[str, ...] = ()

    @property
    def missed(self) -> float:
        """By how much the rows with a penalty are broken in all."""
        return sum(self.overshoot.values())

    @property
    def certified(self) -> bool:
        """Tell whether every row with a penalty is met."""
        return self.missed <= CERTIFIED

    def too_small(self, problem: Problem) -> list[str]:
        """Return the materials that move by less than they should, the smallest move first."""
        return [key for key, move in self.moves.items() if move < problem.least_moves.get(key, 0.0) - MOVED]

    def oddities(self, problem: Problem) -> int:
        """Return how many moves are too small, and how many lines too many move."""
        most = problem.movers_at_most
        too_many = 0 if most is None else max(0, len(self.moves) - most)
        return len(self.too_small(problem)) + too_many
