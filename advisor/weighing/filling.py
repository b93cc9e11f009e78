"""How much dough goes into a bar of a given dry weight."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from advisor.drying.curve import Interval
from advisor.rulebook.drying import FillRules, LossRules


@dataclass(frozen=True, slots=True)
class Filling:
    """Dough for one bar [g] and how many bars a batch gives after its losses."""

    dough_grams: Interval
    bars: int


def filling(
    dried_grams: float,
    mass_left: Interval,
    batch_grams: float,
    fill: FillRules,
    losses: Sequence[LossRules],
) -> Filling:
    """Return the dough per bar and the number of bars.

    Parameters
    ----------
    dried_grams : float
        Weight of the dried bar [g].
    mass_left : Interval
        What is left of 100 g of dough when dry [g].
    batch_grams : float
        Dough weighed out [g].
    fill : FillRules
        What is added so that no bar falls short [g].
    losses : sequence of LossRules
        What stays on gloves and bowl, by batch size.

    Examples
    --------
    >>> fill = FillRules(safety_grams_low=1.0, safety_grams_high=2.0, basis="practice", source="bench")
    >>> lost = [LossRules(batch_grams=500, low_percent=4, high_percent=6, basis="practice", source="bench")]
    >>> found = filling(60.0, Interval(80.0, 82.0, 85.0), 500.0, fill, lost)
    >>> [round(grams, 1) for grams in (found.dough_grams.low, found.dough_grams.typical)], found.bars
    ([71.6, 74.7], 6)
    """
    per_bar = Interval(
        low=100 * dried_grams / mass_left.high + fill.safety_grams_low,
        typical=100 * dried_grams / mass_left.typical + (fill.safety_grams_low + fill.safety_grams_high) / 2,
        high=100 * dried_grams / mass_left.low + fill.safety_grams_high,
    )
    kept = 1 - loss_percent(batch_grams, losses).typical / 100
    return Filling(per_bar, int(batch_grams * kept / per_bar.typical + 1e-9))


def loss_percent(batch_grams: float, losses: Sequence[LossRules]) -> Interval:
    """Return what stays on gloves and bowl [% of the batch], between the known sizes on a logarithmic scale.

    Outside the known sizes the nearest one is taken.
    """
    known = sorted(losses, key=lambda loss: loss.batch_grams)
    at = math.log(min(max(batch_grams, known[0].batch_grams), known[-1].batch_grams))
    below = max((loss for loss in known if math.log(loss.batch_grams) <= at), key=lambda x: x.batch_grams)
    above = min((loss for loss in known if math.log(loss.batch_grams) >= at), key=lambda x: x.batch_grams)
    width = math.log(above.batch_grams) - math.log(below.batch_grams)
    share = (at - math.log(below.batch_grams)) / width if width else 0.0
    low = below.low_percent + share * (above.low_percent - below.low_percent)
    high = below.high_percent + share * (above.high_percent - below.high_percent)
    return Interval(low, (low + high) / 2, high)
