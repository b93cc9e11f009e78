"""Invented makers: steps that get somewhere, words that are deserved, chances that hold (a tenth; all: make learning)."""

import math

import numpy as np
import pytest

from advisor.assessment.task import assess
from advisor.correction.task import correct
from tests.soak.makers.bound import last_dough
from tests.soak.makers.course import calibration_error, course, walks
from tests.soak.makers.worlds import NOISELESS, WORLDS, Maker, makers

LINES = {
    "isethionate-powder": 56.0,
    "kaolin": 14.0,
    "betaine-30": 26.0,
    "glycerin": 3.0,
    "sodium-benzoate": 1.0,
}
RECIPE = {"lines": [{"material": key, "percent": percent} for key, percent in LINES.items()]}


def reported(feel, degree="slight"):
    return {"recipe": RECIPE, "report": {"feel": feel, "degree": degree}}


def test_without_noise_every_maker_gets_there():
    found = course(*walks(NOISELESS, "this tool", 12))
    assert found.never == 0
    assert found.workable[-1] == 1.0


def test_a_rule_of_thumb_is_no_better():
    mine, theirs = (
        course(*walks(WORLDS[0], name, 12)).workable for name in ("this tool", "steps halved at each turn")
    )
    assert np.mean(mine) > np.mean(theirs) - 0.02


def test_a_maker_is_drawn_alike_in_every_world():
    one, other = Maker.of(WORLDS[0], 5), Maker.of(WORLDS[4], 5)
    assert np.array_equal(one.centres, other.centres)
    assert one.chance(0, float(one.centres[0])) < other.chance(0, float(other.centres[0]))


def test_an_optimiser_for_any_purpose_begins_where_all_begin_and_stays_within_its_range():
    [walk] = walks(WORLDS[0], "an optimiser for any purpose", 1, 6)[1]
    assert walk[0].log_index == 0.0
    assert all(abs(one.log_index) <= 0.8 for one in walk)
    assert len({one.log_index for one in walk}) == 6


def test_what_others_handed_on_tells_where_a_shifted_world_lies():
    first = []
    for name in ("this tool", "this tool, pooled"):
        pairs = zip(*walks(WORLDS[-1], name, 400, 1), strict=True)
        first.append(np.mean([maker.chance(0, walk[0].log_index) for maker, walk in pairs]))
    assert first[1] > 1.3 * first[0]


def test_calibration_by_hand():
    assert calibration_error([0.35, 0.35], [0.3, 0.5]) == pytest.approx(0.05)


@pytest.mark.parametrize(("feel", "sign"), [("too_wet", -1), ("too_dry", 1)])
def test_a_run_of_the_same_report_is_met_with_growing_steps(feel, sign):
    steps = []
    for run in (1, 2, 3, 4):
        same = [{"recipe": RECIPE, "report": {"feel": "workable"}}] * 12 + [reported(feel)] * (run - 1)
        answer = correct({**reported(feel), "history": same})
        steps.append(sign * math.log(answer.after.consistency.wetness / answer.before.consistency.wetness))
    assert steps == sorted(steps)
    assert steps[-1] > 2 * steps[0] > 0


def test_workable_is_said_where_the_chance_deserves_it_and_what_the_best_is():
    alone = assess({"recipe": RECIPE, "history": [{"recipe": RECIPE, "report": {"feel": "workable"}}]})
    assert alone.consistency.word == "unknown"
    many = assess({"recipe": RECIPE, "history": [{"recipe": RECIPE, "report": {"feel": "workable"}}] * 8})
    assert many.consistency.word == "workable"
    [best] = [note.text for note in many.notes if note.id == "doughs-best"]
    assert str(round(100 * many.consistency.chance_workable)) <= best.split(" in 100")[0].split()[-1]


def test_doughs_made_only_to_learn_leave_the_fifteenth_hardly_better_than_those_made_to_succeed():
    succeeding, learned = (last_dough(200, learning=learning) for learning in (False, True))
    known = float(np.mean([maker.chance(0, float(maker.centres[0])) for maker in makers(WORLDS[0], 200)]))
    assert known - 0.03 < succeeding < learned + 0.01 < known
