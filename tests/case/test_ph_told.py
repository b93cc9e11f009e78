"""A pH that is told beside a recipe is never passed over: every task says what it means, or why it means nothing."""

from collections.abc import Callable
from typing import Any

import pytest

import advisor
from helpers.recipes import filled

RECIPE = filled({"phenoxyethanol-blend": 1.0})
IN_GRAMS = {"lines": [{"material": one["material"], "grams": 4 * one["percent"]} for one in RECIPE["lines"]]}
ASKED: dict[str, tuple[Callable[..., Any], dict[str, Any]]] = {
    "assess": (advisor.assess, {}),
    "correct": (advisor.correct, {"report": {"feel": "too_wet"}}),
    "add": (advisor.add, {"report": {"feel": "too_wet"}, "recipe": IN_GRAMS, "balance_step": 0.1}),
    "substitute": (advisor.substitute, {"missing": "glycerin"}),
    "recover": (
        advisor.recover,
        {"batch_grams": 500.0, "weighed": {"glycerin": 60.0}, "mixed": True, "balance_step": 0.1},
    ),
    "weigh": (advisor.weigh, {"batch_grams": 500.0, "balance_step": 0.1}),
}


def asked(name: str, **more: Any) -> dict[str, str]:
    function, body = ASKED[name]
    answer = function({"recipe": RECIPE, **body, **more})
    return {one.id: one.text for one in (*answer.notes, *answer.cautions)}


@pytest.mark.parametrize("name", ASKED)
@pytest.mark.parametrize(("ph", "lies"), [(4.0, "inside"), (5.4, "inside"), (10.5, "outside")])
def test_what_a_ph_means_for_skin_and_preservative_is_told_once(name: str, ph: float, lies: str) -> None:
    said = asked(name, ph=ph)
    assert said["ph-read"].startswith(f"pH {ph:g} was read; that of skin is 4.1 to 5.8.")
    assert f"pH {ph:g} lies {lies} its working range" in said[f"preservation-ph-{lies}-phenoxyethanol-blend"]


@pytest.mark.parametrize("name", ASKED)
def test_a_ph_of_another_dispersion_says_why_it_says_nothing(name: str) -> None:
    said = asked(name, ph=5.4, ph_at_percent=1.0)
    assert "ph-not-comparable" in said
    assert "ph-read" not in said


@pytest.mark.parametrize("name", ASKED)
def test_without_a_ph_none_is_spoken_of(name: str) -> None:
    assert "ph-read" not in asked(name)
