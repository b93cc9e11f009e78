"""A maker's habits: windows that drift, words wider or narrower, reports that slip, and what is said of each."""

import math
from dataclasses import replace

import numpy as np
import pytest

from advisor.learning import Dough, Habits, Prior, learn, learn_more, with_habits
from advisor.recipe.consistency import learning_rules, prior, with_own_habits
from advisor.rulebook.load import load_rulebook

DOUGH = load_rulebook().dough
RULES = learning_rules(DOUGH)
BORDERS = DOUGH.classes.thresholds
BELIEF = prior({}, {}, DOUGH)


def judged(centres, seed, words=1.0, off=0.06):
    """Doughs made at random around where they were workable, oldest first."""
    rng = np.random.default_rng(seed)
    doughs = []
    for centre in centres:
        index = float(centre + rng.normal(0, off))
        felt = index - centre + DOUGH.classes.spread * rng.logistic()
        doughs.append(Dough(index, {}, int(np.searchsorted(np.array(BORDERS) * words, felt)) + 1))
    return doughs


def believed(doughs):
    return with_own_habits(doughs, BELIEF, DOUGH)


def test_a_window_that_moved_is_followed():
    followed, still = [], []
    for seed in range(10):
        doughs = judged(np.concatenate((np.zeros(15), np.full(15, 0.15))), seed)
        followed.append(abs(learn(doughs, believed(doughs), RULES).centre({})[0] - 0.15))
        still.append(abs(learn(doughs, BELIEF, RULES).centre({})[0] - 0.15))
    assert np.mean(followed) < 0.5 * np.mean(still)


def test_a_window_at_rest_is_hardly_believed_to_drift():
    drifts = [believed(judged(np.zeros(30), seed)).drift for seed in range(8)]
    moved = [believed(judged(np.linspace(0, 0.6, 30), seed)).drift for seed in range(8)]
    assert max(drifts) < 0.02
    assert np.mean(moved) > 2 * np.mean(drifts)


@pytest.mark.parametrize("words", [0.6, 1.0, 1.6])
def test_the_width_of_words_is_told_from_the_doughs(words):
    found = [believed(judged(np.zeros(40), seed, words)).thresholds[-1] / BORDERS[-1] for seed in range(5)]
    assert math.exp(np.mean(np.log(found))) == pytest.approx(words, rel=0.2)


def test_the_order_of_the_doughs_is_their_time():
    early = [Dough(0.0, {}, 4)] * 8 + [Dough(0.15, {}, 4)] * 8
    now, before = (
        learn(past, replace(BELIEF, drift=0.03), RULES).centre({})[0] for past in (early, early[::-1])
    )
    assert now > 0.12
    assert before < 0.03


def test_a_wrong_report_moves_little_and_three_alike_are_believed():
    steady = judged(np.zeros(12), 3, off=0.03)
    wrong = Dough(0.0, {}, 7)
    belief = replace(BELIEF, slips=DOUGH.habits.slips)
    before = learn(steady, belief).centre({})[0]
    one = learn([*steady, wrong], belief).centre({})[0]
    assert abs(one - before) < 0.01
    drifting = replace(belief, drift=0.04)
    three = learn([*steady, *[wrong] * 3], drifting).centre({})[0]
    assert three < before - 0.05


def test_every_run_of_doughs_has_a_mode():
    rng = np.random.default_rng(5)
    for _ in range(60):
        count = int(rng.integers(1, 30))
        doughs = [
            Dough(float(x), {}, int(y))
            for x, y in zip(rng.normal(0, 0.3, count), rng.integers(1, 8, count), strict=True)
        ]
        mean, sd = learn(doughs, believed(doughs), RULES).centre({})
        assert math.isfinite(mean)
        assert 0 < sd <= BELIEF.centre_sd


@pytest.mark.parametrize("count", [10, 30, 60])
def test_a_contradiction_is_said_however_many_doughs_there_are(count):
    quarrel = [Dough(0.0, {}, outcome) for outcome in (2, 6)] * (count // 2)
    assert learn(quarrel, believed(quarrel), RULES).contradicted
    agreed = judged(np.zeros(count), 9)
    assert not learn(agreed, believed(agreed), RULES).contradicted


def test_going_on_is_beginning_anew_while_the_window_drifts():
    doughs = judged(np.linspace(0, 0.2, 24), 4)
    belief = replace(BELIEF, drift=0.02, slips=0.03)
    whole, more = learn(doughs, belief), learn_more(learn(doughs[:20], belief), doughs[20:], belief)
    assert more.mean == pytest.approx(whole.mean, abs=1e-6)
    assert more.covariance == pytest.approx(whole.covariance, rel=1e-4)


@pytest.mark.parametrize(
    ("change", "place"),
    [
        ({"word_widths": ()}, "word_widths"),
        ({"word_widths": (1.0, 0.5)}, "word_widths"),
        ({"word_widths_sd": 0.0}, "word_widths_sd"),
        ({"drifts": (-0.1, 0.0)}, "drifts"),
        ({"drift_chances": (1.0,)}, "chance"),
        ({"newest": 0}, "newest"),
    ],
)
def test_impossible_habits_are_refused(change, place):
    habits = Habits(
        word_widths=(0.6, 1.0), word_widths_sd=0.5, drifts=(0.0, 0.02), drift_chances=(0.8, 0.2), newest=40
    )
    with pytest.raises(ValueError, match=place):
        replace(habits, **change)


@pytest.mark.parametrize("change", [{"drift": -0.1}, {"slips": 1.0}])
def test_impossible_drifts_and_slips_are_refused(change):
    with pytest.raises(ValueError, match="drift"):
        Prior(thresholds=(-0.1, 0.1), spread=0.03, centre_sd=0.2, demand_sds={}, **change)


def test_without_doughs_habits_are_as_first_guessed():
    habits = Habits(
        word_widths=(0.5, 1.0, 2.0), word_widths_sd=0.5, drifts=(0.0,), drift_chances=(1.0,), newest=40
    )
    told = with_habits([], BELIEF, habits)
    assert told.thresholds == pytest.approx(BORDERS)
    assert believed([Dough(0.0, {}, 4)]) == BELIEF
