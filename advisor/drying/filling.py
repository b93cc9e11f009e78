"""How much dough goes into a bar of a given dry weight."""

from advisor.drying.curve import Interval
from advisor.frozen import dataclass
from advisor.recipe.measures import Amounts, End, Measures
from advisor.rulebook.drying import FillRules, Loss, LossRules
from advisor.schema.recipe import Method

# Most is left where least of the water leaves.
_ENDS: tuple[End, ...] = ("high", "typical", "low")


@dataclass(frozen=True, slots=True)
class Filling:
    """Dough for one bar [g] and how many bars a batch gives after its losses."""

    dough_grams: Interval
    bars: int


def mass_left(of: Measures, amounts: Amounts) -> Interval:
    """Return what is left of 100 g of a recipe [%] when dry [g]."""
    low, typical, high = (of.mass_left(end).of(amounts) or 0.0 for end in _ENDS)
    return Interval(low, typical, high)


def filling(
    dried_grams: float, left: Interval, batch_grams: float, lost: Interval, fill: FillRules
) -> Filling:
    """Return the dough per bar and the number of bars.

    Parameters
    ----------
    dried_grams : float
        Weight of the dried bar [g].
    left : Interval
        What is left of 100 g of dough when dry [g].
    batch_grams : float
        Dough weighed out [g].
    lost : Interval
        What does not become bars [% of the batch].
    fill : FillRules
        What is added so that no bar falls short [g].

    Examples
    --------
    >>> fill = FillRules(safety_grams_low=1.0, safety_grams_high=2.0, basis="practice", source="bench")
    >>> found = filling(60.0, Interval(80.0, 82.0, 85.0), 500.0, Interval(4.0, 5.0, 6.0), fill)
    >>> [round(grams, 1) for grams in (found.dough_grams.low, found.dough_grams.typical)], found.bars
    ([71.6, 74.7], 6)
    """
    per_bar = Interval(
        low=100 * dried_grams / left.high + fill.safety_grams_low,
        typical=100 * dried_grams / left.typical + (fill.safety_grams_low + fill.safety_grams_high) / 2,
        high=100 * dried_grams / left.low + fill.safety_grams_high,
    )
    kept = 1 - lost.typical / 100
    return Filling(per_bar, int(batch_grams * kept / per_bar.typical + 1e-9))


def loss_percent(batch_grams: float, losses: LossRules, method: Method = "hand") -> Interval:
    """Return what stays on gloves, bowl and tools [% of the batch]: a share of it and what they always keep.

    Examples
    --------
    >>> from advisor.rulebook.load import load_rulebook
    >>> losses = load_rulebook().drying.loss
    >>> [loss_percent(grams, losses).typical for grams in (50.0, 200.0, 1000.0)]
    [7.0, 3.25, 2.25]
    """
    way = losses.mixer if method == "mixer" else losses.hand

    def lost(end: Loss) -> float:
        return min(100.0, end.percent + 100 * end.grams / batch_grams)

    return Interval(lost(way.low), lost(way.typical), lost(way.high))
