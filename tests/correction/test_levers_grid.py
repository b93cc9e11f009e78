"""What a master would leave alone, over a seeded tenth of the grid; `python -m tests.soak.levers` asks the whole of it."""

from collections import Counter

import pytest

import advisor
from helpers import levers, ordinary

MARKETS = ("eu", "us")


def test_a_tenth_of_the_grid_shows_no_fault() -> None:
    found, many, asked_in_all = [], 0, 0
    for asked in ordinary.tenth(levers.grid):
        answer = levers.answered(asked)
        assert answer is not None, asked.named
        asked_in_all += 1
        faults = list(levers.faults(asked, answer))
        many += sum(fault.startswith("many") for fault in faults)
        found += [f"{asked.named}: {fault}" for fault in faults if not fault.startswith("many")]
    assert not found
    assert asked_in_all > 80
    assert many < 0.05 * asked_in_all


@pytest.mark.parametrize("market", MARKETS)
def test_the_cheapest_bar_is_still_this_bar_and_cheaper_where_something_is(market: str) -> None:
    cheaper = 0
    for asked in ordinary.corrections(
        feels=("workable",), markets=(market,), aims=("lowest_cost",), shelf=ordinary.CUPBOARD
    ):
        answer = levers.answered(asked)
        assert answer is not None, asked.named
        assert not list(levers.faults(asked, answer)), asked.named
        assert not list(levers.not_this_bar(asked, answer)), asked.named
        before, after = answer.before.totals.price_per_kg, answer.after.totals.price_per_kg
        assert before is not None and after is not None
        cheaper += after < before
    assert cheaper >= 18


def test_water_makes_no_bar_cheaper_while_anything_else_wets_it() -> None:
    asked_in_all = 0
    for asked in ordinary.corrections(
        ordinary.RECIPES[::3],
        feels=("too_dry",),
        markets=("none",),
        aims=("lowest_cost",),
        shelf=ordinary.CUPBOARD,
    ):
        answer = levers.answered(asked)
        assert answer is not None, asked.named
        assert "water" not in {change.material for change in answer.changes}, asked.named
        asked_in_all += 1
    assert asked_in_all > 18


def test_the_same_report_of_an_unchanged_recipe_is_no_dead_end_twice() -> None:
    """What comes before the recipe comes first; told the same again of the same recipe, the table is given."""
    told = {"kneaded_minutes": 2.0}
    ends: Counter[str] = Counter()
    for one in ordinary.RECIPES[::4]:
        for feel in ("too_wet", "too_dry"):
            report = {"feel": feel, **(told if feel == "too_dry" else {"rested_minutes": 3.0})}
            first = advisor.correct({"recipe": one.recipe(), "report": report})
            again = advisor.correct(
                {
                    "recipe": one.recipe(),
                    "report": report,
                    "history": [{"recipe": one.recipe(), "report": report}],
                }
            )
            ends[f"{first.status} then {again.status}"] += 1
    assert set(ends) == {"unchanged then corrected"}


def test_a_usual_range_gives_way_to_the_report_and_that_is_said() -> None:
    lines = {
        "isethionate-powder": 45,
        "corn-starch": 25,
        "betaine-30": 25,
        "glycerin": 4,
        "levulinate-blend": 1,
    }
    recipe = {"lines": [{"material": key, "percent": percent} for key, percent in lines.items()]}
    answer = advisor.correct(
        {"recipe": recipe, "report": {"feel": "too_wet"}, "wishes": {"fixed": ["isethionate-powder"]}}
    )
    assert answer.status == "corrected"
    said = [note.text for note in answer.notes if note.id == "beyond-usual-range"]
    assert said and "Corn starch" in said[0] and "beyond its usual range up to 25 %" in said[0]


def test_a_single_bound_moves_a_held_line_only_as_far_as_it_asks() -> None:
    one = ordinary.RECIPES[2]
    for band, percent in (({"min": 0.7}, 0.7), ({"max": 0.3}, 0.3), ({"min": 0.2}, 0.5), ({"max": 0.9}, 0.5)):
        answer = advisor.correct(
            {
                "recipe": one.recipe(),
                "report": {"feel": "too_wet"},
                "wishes": {"lines": {"lavender-oil": band}},
            }
        )
        after = {line.material: line.percent for line in answer.recipe.lines}
        assert after["lavender-oil"] == pytest.approx(percent), band
