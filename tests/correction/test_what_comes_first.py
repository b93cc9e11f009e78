"""What the change of a recipe waits for is what the answer itself asks or tells to do, and never refers to nothing."""

from typing import Any

import pytest

import advisor
from advisor.printing.told import Told
from advisor.rulebook.load import load_rulebook
from helpers import ordinary

BENCH = load_rulebook().bench
STEPS = {step.id for step in BENCH.process if not step.warning}
KNOWN: dict[str, dict[str, Any]] = {
    "nothing told": {},
    "well kneaded and rested": {"kneaded_minutes": 12, "rested_minutes": 20},
    "judged hot": {"dough_c": 45.0},
    "judged young": {"dried_days": 3, "room_rh": 80},
}
FEELS = list(load_rulebook().feels.feel)
GRID = [(one, feel, told) for one in ordinary.RECIPES for feel in FEELS for told in KNOWN]


@pytest.mark.parametrize(("one", "feel", "told"), GRID[::5], ids=lambda value: getattr(value, "name", value))
def test_a_change_waits_for_what_is_asked_or_told(one: ordinary.Ordinary, feel: str, told: str) -> None:
    answer = advisor.correct({"recipe": one.recipe(), "report": {"feel": feel, **KNOWN[told]}})
    said = {item.id: item.text for item in answer.advice}
    steps, waits = STEPS & set(said), said.get("if-it-is-still-so")
    if waits == BENCH.then.after_answers:
        assert answer.questions
        assert not steps
    elif waits is not None:
        assert steps
    else:
        assert not (answer.changes and steps)


@pytest.mark.parametrize("question", BENCH.question, ids=lambda question: question.id)
def test_what_is_open_is_asked_in_words_with_its_option_beside_it(question: Any) -> None:
    asked = Told({}).asked(question)
    assert asked.startswith(question.short)
    assert all(word not in question.short for word in ("--", "?"))
    assert ("(--" in asked) == bool(question.unless)
