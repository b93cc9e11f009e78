"""Holds additions on a coarse balance against those on the finest."""

from collections.abc import Iterable

import advisor
from advisor.errors import NoRecipeFits
from helpers.bowls import bowl

COARSE = (0.01, 0.1, 1.0)
FINEST = 1e-4


def worst_steps_off(seeds: Iterable[int], step: float) -> tuple[float, float]:
    """Return how many steps a line, and the sum of all, is off the finest balance at worst."""
    by_line = by_sum = 0.0
    for seed in seeds:
        asked = bowl(seed)
        asked.pop("smallest_grams", None)
        try:
            fine, coarse = (
                {line.material: line.grams for line in advisor.add({**asked, "balance_step": one}).additions}
                for one in (FINEST, step)
            )
        except NoRecipeFits:
            continue
        off = [coarse.get(key, 0.0) - fine.get(key, 0.0) for key in {*fine, *coarse}]
        by_line = max([by_line, *(abs(one) - FINEST for one in off)])
        by_sum = max(by_sum, abs(sum(off)))
    return by_line / step, by_sum / step
