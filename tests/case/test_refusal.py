"""A refusal names demands that exclude each other, and only those; its nearest recipe is a dough."""

import random
from typing import Any

import pytest

import advisor
from advisor.case.solve import Attempt
from advisor.errors import NoRecipeFits
from advisor.optimise.conflict import conflicting_rows
from advisor.optimise.problem import Problem
from advisor.optimise.row import Row
from helpers import makers

SEEDS = 40
LOWEST, HIGHEST = 0.6, 1.65


def _refused(seed: int) -> tuple[dict[str, Any], dict[str, Any]] | None:
    """Return a request whose wishes rarely fit, and its refusal; None where a recipe fits."""
    rng = random.Random(seed)
    recipe = makers.recipe(seed)
    keys = [line["material"] for line in recipe["lines"]]
    low = rng.uniform(0, 60)
    wishes = {
        "market": "eu",
        "active": {"min": low, "max": rng.uniform(low, 100)},
        "fixed": rng.sample(keys, rng.randint(0, len(keys))),
        "components": {"Phenoxyethanol": {"max": rng.uniform(0, 1)}},
    }
    asked = {"recipe": recipe, "report": makers.report(seed), "wishes": wishes}
    try:
        advisor.correct(asked)
    except NoRecipeFits as refusal:
        return asked, refusal.problem()
    return None


def test_the_nearest_recipe_is_neither_dust_nor_soup() -> None:
    near = 0
    for seed in range(SEEDS):
        found = _refused(seed)
        if found is None or found[1]["nearest"] is None:
            continue
        own = advisor.assess({"recipe": found[0]["recipe"]}).consistency.wetness
        after = found[1]["nearest"]["after"]["consistency"]["wetness"]
        assert own is not None
        assert min(LOWEST, own) - 0.005 <= after <= max(HIGHEST, own) + 0.005, (seed, own, after)
        near += 1
    assert near > 20


def test_demands_that_can_be_met_together_are_no_conflict() -> None:
    starts = {"a": 60.0, "b": 40.0}
    total = Row("total", {"a": 1.0, "b": 1.0}, "=", 100.0)
    met = [Row("least", {"a": 1.0}, ">=", 50.0), Row("most", {"a": 1.0}, "<=", 70.0)]
    assert conflicting_rows(Problem(starts), [total], met) == []
    beyond = Row("other", {"b": 1.0}, ">=", 60.0)
    assert {row.name for row in conflicting_rows(Problem(starts), [total], [*met, beyond])} == {
        "least",
        "other",
    }


def test_where_only_the_steps_fail_no_demand_is_blamed(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(Attempt, "rounded", lambda *_: None)
    for seed in range(6):
        with pytest.raises(NoRecipeFits) as refusal:
            advisor.correct(
                {"recipe": makers.recipe(seed), "report": {"feel": "too_wet", "degree": "slight"}}
            )
        problem = refusal.value.problem()
        assert problem["conflict"] == []
        assert "do not exclude each other" in problem["detail"]


@pytest.mark.parametrize("feel", ["too_dry", "too_wet", "crumbling", "harsh"])
def test_a_range_that_the_recipe_lies_beside_tells_its_percent_once(feel: str) -> None:
    lines = [{"material": "isethionate-powder", "percent": 62.0}, {"material": "betaine-30", "percent": 20.0}]
    lines += [{"material": "castor-oil", "percent": 5.91}, {"material": "kaolin", "percent": 12.09}]
    wishes = {"components": {"Ricinus Communis Seed Oil": {"min": 8.0}}}
    with pytest.raises(NoRecipeFits) as refusal:
        advisor.correct({"recipe": {"lines": lines}, "report": {"feel": feel}, "wishes": wishes})
    (named,) = (one["demand"] for one in refusal.value.problem()["conflict"] if "yours" in one["demand"])
    assert named == "Castor oil, usual range 0.3 to 5 %, yours at most"
    assert "yours at most 5.91 %" in str(refusal.value)
