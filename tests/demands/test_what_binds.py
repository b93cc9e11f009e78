"""A bound binds within a hundredth of a percent, or within two thousandths of a ratio, whatever it is a ratio of."""

from collections import Counter

import advisor
from helpers import ordinary

ROOM = {"1": 0.002, "%": 0.01}
SHOWN = 0.0006


def test_every_bound_of_every_recipe_binds_by_its_unit() -> None:
    seen = Counter[tuple[str, bool]]()
    for one in ordinary.RECIPES:
        for feel in ("too_wet", "crumbling", "workable"):
            answer = advisor.correct(
                {"recipe": one.recipe(), "report": {"feel": feel}, "wishes": {"aim": "lowest_cost"}}
            )
            for check in answer.checks:
                bounds = [bound for bound in (check.min, check.max) if bound is not None]
                off = min((abs(check.value - bound) for bound in bounds), default=1.0)
                if check.unit in ROOM and abs(off - ROOM[check.unit]) > SHOWN:
                    assert check.binding == (off < ROOM[check.unit]), (one.name, feel, check)
                    seen[check.unit, check.binding] += 1
    assert min(seen[unit, binds] for unit in ROOM for binds in (False, True)) > 10
