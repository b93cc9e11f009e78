"""What the steps of a coarse balance cannot keep is given up in the one order: a wish before the dough."""

from typing import Any

import pytest

import advisor
from advisor.errors import InvalidRequest
from helpers import ordinary

COARSE = ((50, 0.5), (50, 1.0), (100, 2.0), (200, 5.0))


def missed(body: dict[str, Any], kind: str) -> set[str]:
    return {check.name for check in advisor.weigh(body).checks if check.kind == kind and not check.ok}


@pytest.mark.parametrize(("grams", "step"), COARSE)
def test_a_narrow_wish_costs_no_demand_of_the_dough(grams: float, step: float) -> None:
    wishes_missed = asked_in_all = 0
    for one in ordinary.RECIPES[::2]:
        body = {"recipe": one.recipe(), "batch_grams": grams, "balance_step": step}
        try:
            without = missed(body, "dough")
        except InvalidRequest:
            continue
        for key, percent in list(one.lines.items())[::3]:
            band = {"min": round(percent - 0.1, 3), "max": round(percent + 0.1, 3)}
            asked = {**body, "wishes": {"lines": {key: band}}}
            assert missed(asked, "dough") <= without, (one.name, key)
            wishes_missed += bool(missed(asked, "wish"))
            asked_in_all += 1
    assert wishes_missed > 0.3 * asked_in_all > 5
