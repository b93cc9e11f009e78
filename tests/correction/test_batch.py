"""The next batch in whole steps of its balance, what is left of a material, and a pH that was read."""

from typing import Any

import pytest

import advisor
from advisor.rulebook.load import load_rulebook
from advisor.schema.findings import Change
from helpers import makers
from helpers.recipes import filled, on_every_road, special

BODY = {"recipe": filled({}), "report": {"feel": "too_wet"}}
SWAP = {
    "recipe": filled({}),
    "missing": "betaine-30",
    "replacements": ["hydroxysultaine-42"],
    "shelf": ["water"],
}


@pytest.mark.parametrize(("batch", "step"), [(200.0, 0.01), (500.0, 0.1), (3000.0, 1.0)])
def test_changes_and_hold_back_are_told_in_whole_steps(batch: float, step: float) -> None:
    answer = advisor.correct({**BODY, "batch_grams": batch, "balance_step": step})
    assert answer.changes and answer.hold_back
    for change in answer.changes:
        for percent, grams in ((change.before, change.grams_before), (change.after, change.grams_after)):
            assert grams == pytest.approx(percent * batch / 100, abs=step / 2 + 1e-9)
            assert round(grams / step) * step == pytest.approx(grams, abs=1e-6)
    for held in answer.hold_back:
        assert held.grams == pytest.approx(held.percent * batch / 100, abs=step / 2 + batch * 1e-4)


def test_without_a_batch_nothing_is_told_in_grams() -> None:
    answer = advisor.correct(BODY)
    assert all(change.grams_after is None for change in answer.changes)
    assert all(held.grams is None for held in answer.hold_back)


def test_a_recipe_in_grams_is_its_own_batch() -> None:
    lines = [{"material": one["material"], "grams": one["percent"] * 4} for one in BODY["recipe"]["lines"]]
    answer = advisor.correct({"recipe": {"lines": lines}, "report": BODY["report"]})
    assert all(change.grams_after == pytest.approx(change.after * 4, abs=1e-3) for change in answer.changes)


def too_small_to_weigh(changes: tuple[Change, ...], batch: float, step: float) -> int:
    """Return how many lines move by less than two steps: none but one that makes room, or small lines."""
    rules, known = load_rulebook().program.moves, load_rulebook().ingredients
    moved = [
        abs(one.after - one.before)
        for one in changes
        if not (0 < one.before <= rules.small_line and known[one.material].main_role in rules.small_roles)
    ]
    return max(0, sum(move < 2 * 100 * step / batch - 1e-6 for move in moved) - 1)


def test_the_next_recipe_moves_no_line_by_less_than_its_balance_honours() -> None:
    fine, coarse, untold = 0, 0, 0
    for seed in range(40):
        body = {"recipe": makers.recipe(seed), "report": makers.report(seed), "batch_grams": 100.0}
        untold += too_small_to_weigh(advisor.correct(body).changes, 100.0, 0.5)
        coarse += too_small_to_weigh(advisor.correct({**body, "balance_step": 0.5}).changes, 100.0, 0.5)
        fine += too_small_to_weigh(advisor.correct({**body, "balance_step": 0.2}).changes, 100.0, 0.2)
    assert fine == 0
    assert 2 * coarse <= untold


def test_a_swap_moves_fewer_lines_by_less_than_its_balance_honours() -> None:
    told = untold = 0
    for seed in range(10):
        recipe = makers.recipe(seed)
        body = {"recipe": recipe, "missing": _watery(recipe), "batch_grams": 100.0}
        for option in advisor.substitute(body).options:
            untold += too_small_to_weigh(option.changes, 100.0, 0.5)
        for option in advisor.substitute({**body, "balance_step": 0.5}).options:
            told += too_small_to_weigh(option.changes, 100.0, 0.5)
    assert told < untold


def _watery(recipe: dict[str, Any]) -> str:
    known = load_rulebook().ingredients
    keys = [line["material"] for line in recipe["lines"]]
    return next(key for key in keys if known[key].is_surfactant and not known[key].powder())


@pytest.mark.parametrize("body", [BODY, SWAP])
def test_a_balance_without_a_batch_is_refused(body: dict[str, Any]) -> None:
    task = advisor.correct if "report" in body else advisor.substitute
    with pytest.raises(advisor.AdvisorError) as refusal:
        task({**body, "balance_step": 0.1})
    assert refusal.value.problem()["errors"][0]["where"] == "/balance_step"


@pytest.mark.parametrize("left", [0.0, 5.0, 12.0, 20.0])
def test_what_is_left_is_used_and_the_rest_filled_up(left: float) -> None:
    whole = next(line["percent"] for line in SWAP["recipe"]["lines"] if line["material"] == "betaine-30")
    for told in ({"left_percent": left}, {"left_grams": left * 5, "batch_grams": 500.0}):
        answer = advisor.substitute({**SWAP, **told})
        amounts = {line.material: line.percent for line in answer.options[0].recipe.lines}
        assert amounts.get("betaine-30", 0.0) == pytest.approx(left)
        assert 42 * amounts["hydroxysultaine-42"] == pytest.approx(30 * (whole - left), rel=0.26)


@pytest.mark.slow
def test_of_what_is_missing_every_option_uses_what_is_left_and_replaces_the_rest() -> None:
    made = 0
    for seed in range(12):
        recipe = makers.recipe(seed)
        missing = _watery(recipe)
        whole = next(line["percent"] for line in recipe["lines"] if line["material"] == missing)
        for share in (0.25, 0.6):
            left = round(whole * share, 2)
            for told in ({"left_percent": left}, {"left_grams": left * 8, "batch_grams": 800.0}):
                answer = advisor.substitute({"recipe": recipe, "missing": missing, **told})
                for option in answer.options:
                    amounts = {line.material: line.percent for line in option.recipe.lines}
                    assert amounts[missing] == pytest.approx(left, abs=1e-6), (seed, told)
                    assert sum(amounts.values()) == pytest.approx(100.0)
                    made += 1
    assert made > 40


def test_what_suffices_is_not_missing() -> None:
    for told, where in (
        ({"left_percent": 60.0}, "/left_percent"),
        ({"left_grams": 400.0, "batch_grams": 500.0}, "/left_grams"),
        ({"left_grams": 40.0}, "/left_grams"),
    ):
        with pytest.raises(advisor.AdvisorError) as refusal:
            advisor.substitute({**SWAP, **told})
        assert refusal.value.problem()["errors"][0]["where"] == where


def test_a_ph_counts_in_every_verb_and_so_does_its_dispersion() -> None:
    recipe = filled({"sodium-benzoate": 0.6, "phenoxyethanol-blend": 0.0001})
    recipe["lines"] = [line for line in recipe["lines"] if line["material"] != "phenoxyethanol-blend"]
    recipe["lines"][-1]["percent"] = round(recipe["lines"][-1]["percent"] + 0.0001, 4)
    told = on_every_road(recipe)
    at_8 = on_every_road(recipe, ph=8.0)
    thin = on_every_road(recipe, ph=8.0, ph_at_percent=1.0)
    same = on_every_road(recipe, ph=8.0, ph_at_percent=10.0)
    for verb in told.keys() - {"record"}:
        assert "preservative-useless" not in special(told[verb]), verb
        assert "preservative-useless" in special(at_8[verb]), verb
        assert "ph-not-comparable" in special(thin[verb]), verb
        assert "preservative-useless" not in special(thin[verb]), verb
        assert same[verb] == at_8[verb], verb


def test_a_dispersion_without_a_ph_is_refused() -> None:
    with pytest.raises(advisor.AdvisorError):
        advisor.assess({"recipe": filled({}), "ph_at_percent": 10.0})


@pytest.mark.parametrize(
    ("method", "grams", "said"),
    [("mixer", 3000.0, 2), ("mixer", 200.0, 1), ("hand", 200.0, 0), (None, 3000.0, 0)],
)
def test_a_method_and_a_batch_that_no_dough_taught_are_said_and_more_is_kept_back(
    method: str | None, grams: float, said: int
) -> None:
    report = {"feel": "too_wet", **({"method": method} if method else {})}
    answer = advisor.correct({"recipe": filled({}), "report": report, "batch_grams": grams})
    ids = [note.id for note in answer.notes]
    assert (ids.count("scale-up"), ids.count("side-test")) == (said, int(bool(said)))
    usual = advisor.correct({"recipe": filled({}), "report": {"feel": "too_wet"}, "batch_grams": grams})
    of = {line.material: line.percent for line in usual.hold_back}
    assert of
    for line in answer.hold_back:
        assert (line.percent > of[line.material]) is bool(said)
