"""A row that counts a share of the whole answers as the same row with every material written out."""

import random

import pytest

from advisor.optimise.addition import Addition, Option, least_addition
from advisor.optimise.problem import Problem
from advisor.optimise.rounding import Grid, search, swap_repair
from advisor.optimise.row import Row
from advisor.optimise.steps import Steps, nearest_steps
from advisor.recipe.demand import Measure
from advisor.schema.base import WHOLE


def made(seed: int) -> tuple[dict[str, float], list[Option], list[Row], list[Row]]:
    """Return a base, options, rows with a share of the whole, and the same written out."""
    rng = random.Random(seed)
    keys = tuple(f"m{number:02d}" for number in range(rng.randint(3, 9)))
    base = {key: rng.uniform(1.0, 30.0) for key in keys}
    options = [Option(key, {key: 1.0}, 1.0 + rng.uniform(0.0, 0.1)) for key in keys[:-2]]
    options.append(Option("two", {keys[-2]: 0.4, keys[-1]: 0.6}, 1.05))
    short, long = [], []
    for key in rng.sample(keys, 3):
        share = WHOLE * base[key] / sum(base.values())
        side, bound = ("max", 0.8 * share) if rng.random() < 0.5 else ("min", min(1.1 * share, 60.0))
        row = Measure({key: rng.uniform(0.2, 1.0)}, None, WHOLE).row(key, side, bound, keys, None)
        short.append(row.priced(1.0))
        written = {other: row.coefficients.get(other, 0.0) + row.each for other in keys}
        long.append(Row(row.name, written, row.sense, row.bound, 1.0))
    return base, options, short, long


@pytest.mark.parametrize("seed", range(40))
def test_a_share_of_the_whole_counts_every_material(seed: int) -> None:
    base, options, short, long = made(seed)
    for one, other in zip(short, long, strict=True):
        assert one.gap(base) == pytest.approx(other.gap(base), abs=1e-9)
        assert one.per(3.0).value(base) == pytest.approx(other.value(base) / 3.0, abs=1e-9)
    found, same = (least_addition(Addition(base, options, groups=[rows], fee=0.01)) for rows in (short, long))
    assert found is not None and same is not None
    priced = {option.name: option.price for option in options}

    def cost(added: dict[str, float]) -> float:
        return sum(priced[name] * amount + 0.01 for name, amount in added.items())

    assert cost(dict(found.by_option)) == pytest.approx(cost(dict(same.by_option)), abs=1e-4)
    for one in short:
        missed = [
            one.gap({key: base[key] + by.amounts.get(key, 0.0) for key in base}) for by in (found, same)
        ]
        assert missed[0] == pytest.approx(missed[1], abs=1e-5)
    steps = [nearest_steps(Steps(base, found.amounts, [rows], 0.5)).counts for rows in (short, long)]
    assert steps[0] == steps[1]


def test_where_the_whole_is_fixed_a_row_over_a_growing_one_is_refused() -> None:
    row = Row("water:max", {"water": 1.0}, "<=", 0.0, each=-0.12)
    units, grid = {"clay": 80, "water": 20}, Grid(1, 100)
    for refused in (
        lambda: Problem({"clay": 80.0, "water": 20.0}, rows=[row]),
        lambda: search({"clay": 80.0, "water": 20.0}, [row], grid, ["clay", "water"]),
        lambda: swap_repair(units, {"clay": 80.0, "water": 20.0}, [row], 1, 1, ["clay", "water"]),
    ):
        with pytest.raises(ValueError, match="water:max"):
            refused()
