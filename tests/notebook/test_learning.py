"""What a shop's doughs teach: better corrections, lots and methods held together and fading."""

import datetime
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from advisor.assessment.task import assess
from advisor.errors import AdvisorError, InvalidRequest, UnknownMaterial
from advisor.experiment.information import Belief, Candidate
from advisor.experiment.trial import trial
from advisor.experiment.window import window_of
from advisor.laboratory.uptake import uptake
from advisor.learning import Dough, learn, learn_more
from advisor.recipe.belief import Measured, learning_rules, prior
from advisor.recipe.consistency import evidence
from advisor.recipe.history import dough_weights, read_history, stored_evidence
from advisor.recipe.notebook import Notebook
from advisor.recipe.request import known_materials
from advisor.rulebook.load import load_rulebook
from advisor.schema.notebook import StoredDough
from advisor.schema.recipe import PastDough

from .conftest import dough, recipe
from .virtual_makers import chances_of_workable, notebook
from .virtual_makers import recipe as blended

BOOK = load_rulebook()
RULES = learning_rules(BOOK.dough)


def invented(count: int, powders: int, seed: int = 7) -> tuple[list[Dough], Any]:
    rng = np.random.default_rng(seed)
    names = [f"powder-{place:02}" for place in range(powders)]
    demands, centre = rng.normal(0, 0.3, powders), rng.normal(0, 0.2)
    doughs = []
    for _ in range(count):
        used = rng.choice(powders, min(6, powders), replace=False)
        shares = rng.dirichlet(np.ones(len(used)))
        off = rng.normal(0, 0.1)
        outcome = int(np.searchsorted(BOOK.dough.classes.thresholds, off + 0.03 * rng.logistic())) + 1
        index = float(centre + shares @ demands[used] + off)
        doughs.append(Dough(index, {names[p]: float(s) for p, s in zip(used, shares, strict=True)}, outcome))
    return doughs, prior(dict.fromkeys(names, 0.3), {}, BOOK.dough)


def test_corrections_end_workable_clearly_more_often() -> None:
    # 300 makers: 38 % without, 44 % with ten doughs; a dough at its very centre is called so in 53 %.
    alone, taught = chances_of_workable(80)
    assert taught > alone + 0.04


@pytest.mark.parametrize("seed", range(6))
def test_going_on_is_the_same_as_beginning_anew(seed: int) -> None:
    doughs, belief = invented(40, 8, seed)
    whole = learn(doughs, belief, RULES)
    more = learn_more(learn(doughs[:25], belief, RULES), doughs[25:], belief, RULES)
    assert more.powders == whole.powders
    assert more.mean == pytest.approx(whole.mean, abs=1e-9)
    assert more.covariance == pytest.approx(whole.covariance, abs=1e-8)
    assert (more.outliers, more.support) == (whole.outliers, whole.support)
    with pytest.raises(ValueError, match="no doughs to go on from"):
        learn_more(replace(whole, evidence=None), [], belief)


def test_lots_of_one_powder_are_held_together() -> None:
    wet = {"report": {"feel": "too_wet"}}
    past = [
        {
            "recipe": recipe(clay=12 + step),
            "lots": {"kaolin": lot},
            **(wet if lot == "new" else dough("workable")),
        }
        | {"recipe": recipe(clay=12 + step)}
        for step in (0, 4, 8)
        for lot in ("old", "new")
    ]
    told = window_of({"history": past})
    factors = {lot.lot: lot.factor for lot in told.lots}
    assert factors["new"] < 1.0 < factors["old"] * 1.01
    assert all(lot.material == "kaolin" and lot.low < lot.factor < lot.high for lot in told.lots)
    assert [lot.doughs for lot in told.lots] == [3, 3]


def test_old_doughs_fade_if_asked() -> None:
    day = datetime.date(2031, 5, 1)
    past = [
        {**dough("too_dry"), "made_on": str(day - datetime.timedelta(days=900))},
        {**dough("too_dry"), "made_on": str(day - datetime.timedelta(days=890))},
        {**dough("workable"), "made_on": str(day)},
    ]
    kept, faded = (window_of({"history": past, "half_life_days": days}) for days in (None, 90.0))
    assert faded.by_method[0].centre < kept.by_method[0].centre
    assert dough_weights([day, None, day - datetime.timedelta(days=90)], 90.0) == [1.0, 1.0, 0.5]
    assert dough_weights([None, None], 90.0) == [1.0, 1.0]


def test_an_outlier_and_a_contradiction_are_said() -> None:
    steady = [{**dough("workable"), "recipe": recipe(26 + step / 4)} for step in range(8)]
    told = window_of({"history": [*steady, {**dough("too_dry", "severe"), "recipe": recipe(36)}]})
    assert [one.dough for one in told.outliers] == ["history/8"]
    assert told.outliers_set_aside
    assert not told.widened
    quarrel = [
        {**dough(feel, "severe"), "recipe": recipe()} for feel in ("too_wet", "too_dry") for _ in range(6)
    ]
    told = window_of({"history": quarrel})
    assert told.widened
    assert "contradiction" in [note.id for note in told.notes]


def test_what_to_measure_next_is_used_much_and_known_little() -> None:
    told = window_of({"history": [dough("workable")]})
    best = max(told.powders, key=lambda one: one.relative_sd * one.use)
    assert told.measure_next is not None
    assert told.measure_next.material == best.material
    assert window_of().measure_next is None
    assert "no-doughs" in [note.id for note in window_of().notes]


def test_the_first_guess_is_the_prior() -> None:
    told = {one.method: one for one in window_of().by_method}
    # exp(-1.2816 * 0.20) and exp(1.2816 * 0.20); a mixer adds 0.08 in squares.
    assert (told["hand"].low, told["hand"].high) == (0.774, 1.292)
    assert (told["mixer"].low, told["mixer"].high) == (0.759, 1.318)


def test_chances_of_a_recipe_follow_the_notebook() -> None:
    shop = notebook([{**dough("workable"), "recipe": recipe()}] * 6)
    alone = assess({"recipe": recipe()}).consistency
    known = assess({"recipe": recipe()}, notebook=shop).consistency
    assert known.chance_workable > alone.chance_workable
    assert (alone.word, known.word, known.basis) == ("unknown", "workable", "own")


def test_doughs_of_other_powders_leave_a_recipe_to_estimates() -> None:
    others = {"sulfosuccinate-powder": 55.0, "corn-starch": 20.0, "coco-glucoside-52": 25.0}
    past = {"lines": [{"material": key, "percent": percent} for key, percent in others.items()]}

    def basis(*recipes: Any) -> str:
        history = [{"recipe": one, "report": {"feel": "workable"}} for one in recipes]
        return assess({"recipe": recipe(), "history": history}).consistency.basis

    assert basis() == basis(past) == basis(past, past) == "estimate"
    assert basis(recipe()) == basis(past, recipe()) == "own"


def test_it_is_said_how_many_doughs_count_and_what_they_leave_to_estimates() -> None:
    def said(*doughs: dict[str, Any]) -> list[str]:
        return [
            note.text
            for note in assess({"recipe": recipe(), "history": doughs}).notes
            if note.id == "doughs-counted"
        ]

    assert said() == []
    [one] = said(dough("workable"))
    assert one.startswith("Where this dough is workable rests on 1 of your judged doughs; how much ")
    assert "Kaolin" in one
    assert "takes up is still an estimate" in one
    many = [dough("workable")] * 3 + [
        {**dough("workable"), "recipe": recipe(liquid, clay)}
        for liquid, clay in ((27, 30), (26, 2), (28, 45))
    ] * 4
    [taught] = said(*many)
    assert taught.startswith("Where this dough is workable rests on 15 ")
    assert taught != one


def test_a_powders_demand_is_the_makers_own_only_once_the_doughs_say_more_of_it() -> None:
    def bases(*doughs: dict[str, Any]) -> dict[str, str]:
        return {one.material: one.learned.basis for one in window_of({"history": doughs}).powders}

    assert bases(dough("workable"))["kaolin"] == "estimate"
    apart = [
        {**dough("workable"), "recipe": recipe(liquid, clay)}
        for liquid, clay in ((27, 30), (26, 2), (28, 60))
    ]
    assert bases(*apart * 5)["kaolin"] == "own"


def test_stored_doughs_as_evidence() -> None:
    known = known_materials(None, BOOK)

    def told(**more: Any) -> list[Dough]:
        return stored_evidence(StoredDough.model_validate({"recipe": recipe(), **more}), known)

    wet = {"feel": "too_wet", "degree": "clear", "method": "mixer"}
    assert told() == []
    [first] = told(report=wet)
    assert (first.outcome, first.shares["method:mixer"]) == (6, 1.0)
    [last] = told(report=wet, outcome="workable")
    assert (last.outcome, last.log_index, last.shares) == (4, first.log_index, first.shares)
    assert told(report=wet, outcome={"feel": "cracks_while_drying"}) == [first]
    added = [{"material": "kaolin", "grams": 20.0}]
    one, after = told(report=wet, added=added, batch_grams=400.0, outcome="workable")
    assert one == first
    assert after.log_index < first.log_index
    assert after.shares["kaolin"] > first.shares["kaolin"]
    assert told(report=wet, added=added, outcome="workable") == [first]
    grams = {"lines": [{"material": m["material"], "grams": m["percent"] * 4} for m in recipe()["lines"]]}
    assert told(recipe=grams, report=wet, added=added, outcome="workable")[1] == after


def test_a_measured_demand_moves_the_window_and_doughs_may_contradict_it() -> None:
    uptake_of_clay = BOOK.ingredients["kaolin"].uptake
    measured = {"kaolin": Measured(uptake_of_clay * 1.5, 0.15)}
    shop = Notebook(BOOK.dough, BOOK.ingredients, measured=measured)
    mean, sd = shop.window.demand("kaolin")
    assert 0 < mean < np.log(1.5)
    assert sd < 0.15
    dry = blended({"isethionate-powder": 0.5, "kaolin": 0.5}, 0.8)
    against = notebook([{**dough("workable"), "recipe": dry}] * 10)
    together = replace(against, measured=measured)
    assert 0 < together.window.demand("kaolin")[0] < mean


@pytest.mark.parametrize(
    ("body", "where"),
    [
        ({"material": "betaine-30"}, "/material"),
        ({"material": "kaolin", "liquid": "corn-starch"}, "/liquid"),
        ({"material": "kaolin", "repeats": [{"smooth": 8.0, "sticks": 7.0}]}, "/repeats/0"),
    ],
)
def test_a_bench_test_needs_a_powder_a_liquid_and_order(body: dict[str, Any], where: str) -> None:
    with pytest.raises(InvalidRequest) as told:
        uptake(body)
    assert [fault.where for fault in told.value.faults] == [where]


def test_a_bench_test_by_hand() -> None:
    # 8.0, 8.4, 7.8 g of a liquid of wetting b on 20 g: exp(mean ln) = 8.0628; sd ln 0.03767;
    # step 0.2/sqrt(12)/8.0628 = 0.00716; sqrt((0.03767^2 + 0.00716^2)/3 + 0.15^2) = 0.15163.
    runs = [{"first_ball": 7.0, "smooth": 8.0, "sticks": 9.0}, {"smooth": 8.4}, {"smooth": 7.8}]
    told = uptake({"material": "kaolin", "liquid": "betaine-30", "repeats": runs})
    wetting = BOOK.ingredients["betaine-30"].wetting
    assert told.measured is not None
    assert told.measured.typical == pytest.approx(8.0628 * wetting / 20, abs=6e-4)
    assert told.repeat_sd == pytest.approx(0.0377, abs=1e-4)
    assert told.relative_sd == pytest.approx(0.1516, abs=1e-4)
    assert told.window == pytest.approx(np.log(9 / 7), abs=1e-3)
    assert "few-repeats" in [n.id for n in uptake({"material": "kaolin", "repeats": runs[:2]}).notes]


def test_the_best_trial_teaches_at_least_as_much_as_any_other() -> None:
    told = trial({"recipes": [recipe(), recipe(20, 30)], "history": [dough("workable")] * 3})
    assert told.weighing.total_grams == 50.0
    assert sum(line.percent for line in told.recipe.lines) == pytest.approx(100.0)
    assert all(one.sd_after < one.sd_before for one in told.recipes)
    with pytest.raises(InvalidRequest, match="needs a recipe"):
        trial()


def test_a_trial_that_does_not_beat_ones_own_powders_says_so() -> None:
    one_powder = {"lines": [{"material": "betaine-30", "percent": 30}, {"material": "kaolin", "percent": 70}]}
    told = trial({"recipes": [one_powder]})
    assert "nothing else that was tried tells clearly more" in told.text
    assert {line.material for line in told.recipe.lines} == {"betaine-30", "kaolin"}


def test_a_powder_never_used_is_what_the_trial_takes_more_of() -> None:
    known = {
        "lines": [
            {"material": "betaine-30", "percent": 28},
            {"material": "isethionate-powder", "percent": 72},
        ]
    }
    lines = [{"material": "betaine-30", "percent": 28}, {"material": "isethionate-powder", "percent": 42}]
    wanted = {"lines": [*lines, {"material": "rice-flour", "percent": 30}]}
    past = [{"recipe": known, "report": {"feel": "workable"}}] * 12
    told = trial({"recipes": [wanted], "history": past})
    percents = {line.material: line.percent for line in told.recipe.lines}
    assert "Rice" in told.text
    assert percents["rice-flour"] > 30
    assert told.recipes[0].sd_after < 0.8 * told.recipes[0].sd_before


@pytest.mark.parametrize("wanted", ["corn-starch", "rice-flour", "kaolin", "oat-flour"])
def test_a_trial_is_chosen_for_the_powders_wanted_next(wanted: str) -> None:
    asked = {"recipes": [recipe()], "history": [dough("workable")] * 12}
    told, plain = trial({**asked, "powders": [wanted]}), trial(asked)
    assert told.recipe != plain.recipe
    assert wanted in [line.material for line in told.recipe.lines]
    assert BOOK.ingredients[wanted].name in told.text
    assert [one.material for one in told.powders] == [wanted]
    assert told.powders[0].sd_after < 0.9 * told.powders[0].sd_after_usual
    assert plain.powders == ()


def test_a_trial_says_where_nothing_tells_more_of_the_powder_wanted() -> None:
    one_powder = {"lines": [{"material": "betaine-30", "percent": 30}, {"material": "kaolin", "percent": 70}]}
    told = trial({"recipes": [one_powder], "powders": ["kaolin", "kaolin"]})
    assert "nothing else that was tried tells clearly more of Kaolin" in told.text
    assert [one.sd_after for one in told.powders] == [one.sd_after_usual for one in told.powders]


@pytest.mark.parametrize(("wanted", "error"), [("betaine-30", InvalidRequest), ("kaolim", UnknownMaterial)])
def test_what_is_wanted_next_is_a_powder_that_is_known(wanted: str, error: type[AdvisorError]) -> None:
    with pytest.raises(error) as refused:
        trial({"recipes": [recipe()], "powders": ["kaolin", wanted]})
    assert [fault.where for fault in refused.value.faults] == ["/powders/1"]


def test_the_expected_gain_is_what_simulated_judgements_give() -> None:
    shares = {"a": 0.7, "b": 0.3}
    belief = prior({"a": 0.3, "b": 0.3}, {}, BOOK.dough)
    window = learn([Dough(0.0, shares, 4)] * 20, belief, RULES)
    candidate = {"a": 0.0, "b": 1.0}
    belief_left = Belief.of(window, [shares, candidate])
    expected = belief_left.sds_after(Candidate(candidate, 0.0), [belief_left.direction(shares)])[0]
    centre = window.centre(candidate)[0]
    chances = window.chances(centre, candidate)
    found = [
        learn_more(window, [Dough(centre, candidate, outcome)], belief).centre(shares)[1] ** 2
        for outcome in range(1, 8)
    ]
    assert expected == pytest.approx(np.sqrt(np.dot(chances, found)), rel=0.1)


def test_a_history_of_lots_and_methods_needs_no_storage() -> None:
    past = [PastDough.model_validate({**dough("workable"), "lots": {"kaolin": "A"}}) for _ in range(2)]
    [one, _] = evidence(read_history(past, known_materials(None, BOOK)), BOOK.dough)
    assert one.shares["kaolin#A"] == one.shares["kaolin"]


def test_the_window_names_which_dough_of_a_history_it_cannot_read() -> None:
    unknown = {
        "recipe": {"lines": [{"material": "nobody", "percent": 100.0}]},
        "report": {"feel": "workable"},
    }
    with pytest.raises(UnknownMaterial) as refused:
        window_of({"history": [dough("workable"), unknown]})
    assert [one.where for one in refused.value.faults] == ["/history/1/recipe/lines/0/material"]


@pytest.mark.parametrize(
    ("powder", "width"), [("kaolin", 1.5), ("olefin-sulfonate-powder", 0.5), ("taurate-powder", 1.0)]
)
def test_the_window_is_as_wide_as_the_powders_forgive(powder: str, width: float) -> None:
    index = blended({powder: 1.0, "isethionate-powder": 0.0}, 1.0)
    past = PastDough.model_validate({**dough("workable"), "recipe": index})
    [one] = evidence(read_history([past], known_materials(None, BOOK)), BOOK.dough)
    assert one.width == width


def test_a_wide_window_is_a_stretched_one() -> None:
    wide = learn([Dough(0.2, {}, 6, width=1.5)], replace(prior({}, {}, BOOK.dough), centre_sd=10.0))
    plain = learn([Dough(0.2, {}, 6)], replace(prior({}, {}, BOOK.dough), centre_sd=10.0))
    # The middle of "clearly too wet" lies at (0.075 + 0.15)/2 = 0.1125 of the usual window, at 0.16875 of a wide one.
    assert wide.centre({})[0] == pytest.approx(0.2 - 0.16875, abs=1e-3)
    assert plain.centre({})[0] == pytest.approx(0.2 - 0.1125, abs=1e-3)
    assert wide.chances(0.0, {}, 1.5)[3] > wide.chances(0.0, {})[3]
    with pytest.raises(ValueError, match="width"):
        learn([Dough(0.0, {}, 4, width=0.0)], plain.prior)
