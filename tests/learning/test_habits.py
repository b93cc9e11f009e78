"""A maker's habits: windows that drift, words wider or narrower, reports that slip, and what is said of each."""

import math
from dataclasses import replace
from statistics import NormalDist

import numpy as np
import pytest

from advisor.learning import Dough, Habit, Habits, learn, learn_more, with_habits
from advisor.learning.evidence import gather
from advisor.recipe.belief import learning_rules, prior, with_own_habits
from advisor.rulebook.load import load_rulebook

DOUGH = load_rulebook().dough
RULES = learning_rules(DOUGH)
BORDERS = DOUGH.classes.thresholds
BELIEF = prior({}, {}, DOUGH)
WORKABLE = DOUGH.classes.outcomes["workable"]["clear"]


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


def mean_of(prior, what):
    return sum(one.chance * getattr(one, what) for one in prior.habits)


def test_a_window_that_moved_is_followed():
    followed, still = [], []
    for seed in range(10):
        doughs = judged(np.concatenate((np.zeros(15), np.full(15, 0.15))), seed)
        followed.append(abs(learn(doughs, believed(doughs), RULES).centre({})[0] - 0.15))
        still.append(abs(learn(doughs, BELIEF, RULES).centre({})[0] - 0.15))
    assert np.mean(followed) < 0.5 * np.mean(still)


def test_a_window_at_rest_is_hardly_believed_to_drift():
    drifts = [mean_of(believed(judged(np.zeros(30), seed)), "drift") for seed in range(8)]
    moved = [mean_of(believed(judged(np.linspace(0, 0.6, 30), seed)), "drift") for seed in range(8)]
    assert np.mean(drifts) < 0.01
    assert min(moved) > 0.019


@pytest.mark.parametrize("words", [0.6, 1.0, 1.6])
def test_the_width_of_words_is_told_from_the_doughs(words):
    found = [mean_of(believed(judged(np.zeros(40), seed, words)), "words") for seed in range(5)]
    assert math.exp(np.mean(np.log(found))) == pytest.approx(words, rel=0.2)


def test_the_order_of_the_doughs_is_their_time():
    early = [Dough(0.0, {}, 4)] * 8 + [Dough(0.15, {}, 4)] * 8
    now, before = (
        learn(past, replace(BELIEF, habits=(Habit(drift=0.03),)), RULES).centre({})[0]
        for past in (early, early[::-1])
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
    drifting = replace(belief, habits=(Habit(drift=0.04),))
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


@pytest.mark.parametrize(
    ("habit", "shares", "told"),
    [
        (
            Habit(words=1.6, drift=0.02, memory=20.0),
            (0.57, 0.09, 0.22, 0.12),
            ((0.0, 1), (0.1823, 1), (0.3845, 4), (0.3845, 6), (0.331, 6), (0.2713, 6), (0.1872, 4), (0.1872, 1),
             (0.2188, 2)),
        ),
        (
            Habit(words=1.9, drift=0.015, memory=20.0),
            (0.79, 0.12, 0.03, 0.06),
            ((0.0, 4), (0.0, 1), (0.0741, 1), (0.284, 5), (0.2446, 1), (0.3262, 4)),
        ),
    ],
)  # fmt: skip
def test_a_mode_is_found_where_doubt_bends_the_objective_the_wrong_way(habit, shares, told):
    powders = ("isethionate-powder", "kaolin", "rice-flour", "corn-starch")
    of = load_rulebook().ingredients
    belief = replace(
        prior({key: of[key].uptake_sd for key in powders}, {}, DOUGH), slips=0.03, habits=(habit,)
    )
    blend = dict(zip(powders, shares, strict=True))
    window = learn([Dough(index, blend, outcome) for index, outcome in told], belief)
    before = math.hypot(0.2, *(belief.demand_sds[key] * share for key, share in blend.items()))
    centre, sd = window.centre(blend)
    assert 0 < sd < before
    assert abs(centre) < 3 * before


@pytest.mark.parametrize("count", [10, 30, 60])
def test_a_contradiction_is_said_however_many_doughs_there_are(count):
    quarrel = [Dough(0.0, {}, outcome) for outcome in (2, 6)] * (count // 2)
    assert learn(quarrel, believed(quarrel), RULES).contradicted
    agreed = [judged(np.zeros(count), seed) for seed in range(12)]
    assert np.mean([learn(doughs, believed(doughs), RULES).contradicted for doughs in agreed]) < 0.2


def test_going_on_is_beginning_anew_while_the_window_drifts():
    doughs = judged(np.linspace(0, 0.2, 24), 4)
    habits = (Habit(0.6), Habit(0.4, words=1.3, drift=0.02, memory=20.0))
    belief = replace(BELIEF, habits=habits, slips=0.03)
    whole, more = learn(doughs, belief), learn_more(learn(doughs[:20], belief), doughs[20:], belief)
    assert more.mean == pytest.approx(whole.mean, abs=1e-6)
    assert more.covariance == pytest.approx(whole.covariance, rel=1e-4)


HABITS = Habits(
    word_widths=(0.6, 1.0),
    word_chances=(0.4, 0.6),
    drifts=(0.0, 0.02),
    drift_memories=(0.0, 20.0),
    drift_chances=(0.8, 0.2),
    drift_heeded=0.2,
    newest=40,
    believed_from=0.01,
)


def test_every_habit_is_tried_with_the_chance_of_its_parts():
    tried = HABITS.tried()
    assert sum(one.chance for one in tried) == pytest.approx(1.0)
    [one] = [one for one in tried if (one.words, one.drift, one.memory) == (1.0, 0.02, 20.0)]
    assert one.chance == pytest.approx(0.12)


def test_a_drift_that_keeps_its_direction_is_followed_ahead():
    going = [Dough(0.02 * place, {}, 4) for place in range(16)]
    ahead, behind = (
        learn(going, replace(BELIEF, habits=(Habit(drift=0.02, memory=memory),))).centre({})[0]
        for memory in (20.0, 0.0)
    )
    assert ahead > 0.30 > behind


@pytest.mark.parametrize("memory", [0.0, 5.0, 20.0])
def test_changes_over_spans_are_the_sums_of_changes_from_dough_to_dough(memory):
    count, fine = 9, 40
    [columns] = (
        gather([Dough(0.0, {}, 4)] * count, BELIEF).drifting((Habit(drift=0.02, memory=memory),)).design
    )
    found = columns[:, 1:] @ columns[:, 1:].T
    times = (np.arange(count * fine) + 0.5) / fine
    speeds = (
        np.exp(-np.abs(np.subtract.outer(times, times)) / memory) if memory else fine * np.eye(len(times))
    )
    ages = np.arange(count, 0, -1)
    within = (times < ages[:, None]) / fine
    exact = 0.02**2 * within @ speeds @ within.T
    whole = [place for place, age in enumerate(ages) if age in (1, 2, 3, 4, 5, 6, 8)]
    assert found[np.ix_(whole, whole)] == pytest.approx(exact[np.ix_(whole, whole)], rel=0.01)


def test_a_window_is_the_mixture_of_what_each_habit_believes():
    doughs = judged(np.linspace(0, 0.2, 12), 4)
    halves = [Habit(words=0.7), Habit(drift=0.02, memory=20.0)]
    each = [learn(doughs, replace(BELIEF, habits=(one,))) for one in halves]
    both = learn(doughs, replace(BELIEF, habits=tuple(replace(one, chance=0.5) for one in halves)))
    centres = [NormalDist(*one.centre({})) for one in each]
    mean, sd = both.centre({})
    assert mean == pytest.approx(np.mean([one.mean for one in centres]))
    assert sd**2 == pytest.approx(np.mean([one.variance + (one.mean - mean) ** 2 for one in centres]))
    for end, share in zip(both.interval({}, 0.8), (0.1, 0.9), strict=True):
        assert np.mean([one.cdf(end) for one in centres]) == pytest.approx(share, abs=1e-9)
    assert both.chances(0.1, {}) == pytest.approx(np.mean([one.chances(0.1, {}) for one in each], axis=0))


@pytest.mark.parametrize(
    ("change", "place"),
    [
        ({"word_widths": ()}, "chance"),
        ({"word_widths": (1.0, 0.5)}, "word_widths"),
        ({"word_chances": (0.0, 1.0)}, "chance"),
        ({"drifts": (-0.1, 0.0)}, "drifts"),
        ({"drift_memories": (1.0,)}, "memory"),
        ({"drift_chances": (1.0,)}, "chance"),
        ({"newest": 0}, "newest"),
        ({"believed_from": 1.0}, "believed_from"),
    ],
)
def test_impossible_habits_are_refused(change, place):
    with pytest.raises(ValueError, match=place):
        replace(HABITS, **change)


@pytest.mark.parametrize(
    "change", [{"chance": 0.0}, {"words": 0.0}, {"drift": -0.1}, {"memory": math.inf}, {"heeded": 0.0}]
)
def test_an_impossible_habit_is_refused(change):
    with pytest.raises(ValueError, match=next(iter(change))):
        Habit(**change)


@pytest.mark.parametrize("change", [{"habits": (Habit(0.5),)}, {"slips": 1.0}])
def test_impossible_slips_and_chances_are_refused(change):
    with pytest.raises(ValueError, match="slips"):
        replace(BELIEF, **change)


def test_without_doughs_habits_are_as_first_guessed():
    told = with_habits([], BELIEF, replace(HABITS, believed_from=0.0)).habits
    assert [one.chance for one in told] == pytest.approx([one.chance for one in HABITS.tried()])
    assert believed([Dough(0.0, {}, 4)]) == BELIEF


def test_of_many_powders_the_likeliest_habit_alone_is_believed():
    names = [f"powder-{place}" for place in range(120)]
    doughs = [Dough(0.0, {one: 1.0}, 4) for one in names]
    belief = prior(dict.fromkeys(names, 0.3), {}, DOUGH)
    assert len(with_habits(doughs, belief, replace(HABITS, newest=120)).habits) == 1


def test_a_habit_counts_less_where_a_dough_is_aimed_and_as_before_where_it_is_doubted():
    doughs = [Dough(place / 40, {}, WORKABLE) for place in range(8)]
    aims, medians = [], []
    for heeded in (0.01, 0.2, 1.0):
        believed = with_habits(doughs, BELIEF, replace(HABITS, drift_chances=(0.5, 0.5), drift_heeded=heeded))
        window = learn(doughs, believed, RULES)
        aims.append(window.quantile({}, 0.5, heeded=True))
        medians.append(window.quantile({}, 0.5))
    assert aims[0] < aims[1] < aims[2] == medians[0] == medians[1] == medians[2]
    still = with_habits(doughs, BELIEF, replace(HABITS, drifts=(0.0, 0.0), drift_chances=(0.5, 0.5)))
    assert aims[0] == pytest.approx(learn(doughs, still, RULES).quantile({}, 0.5), abs=0.01)
