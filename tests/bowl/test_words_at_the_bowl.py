"""What is said beside a bowl is of this bowl: what is poured, what the balance shows, what can still be done."""

from typing import Any

import pytest

import advisor
from advisor.printing.answers import addition
from advisor.printing.plain import on_screen
from advisor.printing.told import Told
from advisor.rulebook.load import load_rulebook
from helpers import ordinary

BOOK = load_rulebook()
IN_USE = ("mushy_in_use", "cracks_in_use", "wears_fast", "poor_lather", "harsh")
BOWLS = ordinary.drawn(ordinary.bowls(feels=("too_wet", "too_dry", "crumbling")), 60, seed=8)


def asked(
    one: ordinary.Ordinary, feel: str, grams: float = 500.0, step: float = 0.1, **report: Any
) -> dict[str, Any]:
    return {
        "recipe": one.bowl(grams),
        "report": {"feel": feel, **report},
        "balance_step": step,
        "wishes": {"market": "eu"},
    }


@pytest.mark.parametrize("at", range(len(BOWLS)))
def test_what_is_said_of_handling_names_what_is_poured_and_nothing_else(at: int) -> None:
    answer = advisor.add(BOWLS[at].request)
    poured = {BOOK.ingredients[line.material].name for line in answer.additions}
    others = {BOOK.ingredients[line.material].name for line in answer.bowl_after.lines} - poured
    rules = {rule.id: rule for rule in BOOK.cautions.caution}
    handled = [one for one in answer.cautions if one.id in rules and rules[one.id].when_handled]
    for one in handled:
        if not one.standing:
            assert any(name in one.text for name in poured)
            assert not any(f"{name} " in one.text or f"{name}:" in one.text for name in others), one.text
    for rule in rules.values():
        for line in answer.bowl_after.lines:
            named = BOOK.ingredients[line.material]
            if rule.when_handled and set(rule.hazards) & set(named.material.hazards) and not rule.forms:
                assert any(one.id == rule.id and named.name in one.text for one in handled)


@pytest.mark.parametrize("feel", [*IN_USE, "cracks_while_drying", "stays_soft"])
@pytest.mark.parametrize("one", ordinary.one_of_each(), ids=lambda one: one.family)
def test_a_bar_that_left_the_bowl_is_not_called_what_it_is_not(one: ordinary.Ordinary, feel: str) -> None:
    answer = advisor.add(asked(one, feel))
    told = {item.id: item.text for item in answer.advice}
    assert not answer.additions
    assert told["shaped"].startswith("Bars that dry or are in use have left the bowl")


@pytest.mark.parametrize("one", ordinary.RECIPES, ids=lambda one: one.name)
@pytest.mark.parametrize("step", [1.0, 5.0])
def test_less_than_a_step_of_liquid_is_told_in_drops(one: ordinary.Ordinary, step: float) -> None:
    answer = advisor.add(asked(one, "too_dry", 30.0, step, degree="slight"))
    fine = [item.text for item in answer.advice if item.id == "too-fine"]
    for text in fine:
        grams = sum(
            float(part.split(" g ")[0].split()[-1])
            for part in text.split(", less")[0].split(" and ")
            if " g " in part
        )
        drops = int(text.split("about ")[1].split(" drops")[0])
        assert drops == pytest.approx(grams / 0.05, abs=1)
        assert "weighed" not in text
    if fine:
        body = asked(one, "too_dry", 30.0, step, degree="slight")
        assert "less than the balance shows" in on_screen(addition(answer, Told(body)), 100).splitlines()[0]


@pytest.mark.parametrize("one", ordinary.one_of_each(), ids=lambda one: one.family)
@pytest.mark.parametrize("feel", ["too_wet", "workable"])
def test_nothing_that_is_in_the_bowl_is_to_be_cut_from_it(one: ordinary.Ordinary, feel: str) -> None:
    answer = advisor.add(asked(one, feel, signs=["sticky_but_stiff"]))
    told = {item.id: item.text for item in answer.advice}
    assert "tack" in told
    assert not any("cut that" in text or "without" in text for text in told.values())


def test_one_more_go_is_told_as_one() -> None:
    seen = set()
    for one in BOWLS:
        for item in advisor.add({**one.request, "report": {"feel": "too_wet", "degree": "severe"}}).advice:
            if item.id == "second-go":
                seen.add(
                    "1 more go after a rest and only if" in item.text
                    or "more goes, each after a rest and" in item.text
                )
    assert seen == {True}


def test_what_is_missed_is_printed_once() -> None:
    one = ordinary.RECIPES[10]
    body = {**asked(one, "too_wet"), "shelf": ["water"]}
    printed = on_screen(addition(advisor.add(body), Told(body)), 100)
    assert printed.count("how wet it is for its powders:") == 1
