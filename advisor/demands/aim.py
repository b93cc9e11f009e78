"""What a report asks, as it is handed on, and what earlier doughs say of a report."""

from collections.abc import Iterator

from advisor.frozen import dataclass, replace
from advisor.recipe.demand import Demand
from advisor.rulebook.feels import Route


@dataclass(frozen=True)
class Target:
    """What a report asks: demands that may fall short at a price, and the direction of the wetting index.

    ``index`` is the wetting index the dough had, ``wanted`` the one it is to have; both None for a recipe
    with no powder or no liquid. ``limits`` are what may not be moved the wrong way on the way there;
    ``no_more_of`` names the lines that do not rise where it can be reached without.
    """

    route: Route
    index: float | None
    wanted: float | None
    demands: tuple[Demand, ...]
    source: str
    limits: tuple[Demand, ...] = ()
    no_more_of: frozenset[str] = frozenset()

    @property
    def direction(self) -> int:
        """+1 where the index is to rise, -1 where it is to fall, 0 where it is to stay."""
        if self.index is None or self.wanted is None or self.index == self.wanted:
            return 0
        return 1 if self.wanted > self.index else -1

    def singly(self) -> Iterator["Target"]:
        """Yield the target with one change at a time of those it asks besides the wetness."""
        kept = [demand for demand in self.demands if demand.group == "wetness"]
        for change in dict.fromkeys(d.serves or d.id for d in self.demands if d not in kept):
            asked = (d for d in self.demands if change in (d.id, d.serves))
            yield replace(self, demands=(*kept, *asked))


@dataclass(frozen=True)
class Past:
    """What a maker's earlier doughs say of a report.

    Parameters
    ----------
    centre : float, optional
        The wetting index at which they are workable [-]; None without earlier doughs.
    own : bool
        Whether they say more of this recipe than what is believed without them.
    insisted : bool
        Whether the same was reported of the same recipe before.
    last_watery : float, optional
        Watery share of the liquids of the last good one [-].
    run : int
        How many doughs in a row, the one in hand the last, were reported on the same side.
    """

    centre: float | None = None
    own: bool = False
    insisted: bool = False
    last_watery: float | None = None
    run: int = 0


NO_PAST = Past()
