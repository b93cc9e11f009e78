"""A pH that no cleansing bar has is told as a danger on every road, and nothing is told twice."""

from typing import Any

import pytest

import advisor
from advisor.rulebook.load import load_rulebook
from helpers import ordinary
from helpers.recipes import on_every_road

SULFATE = {
    "coco-sulfate-powder": 45,
    "kaolin": 25,
    "betaine-30": 24,
    "glycerin": 5.1,
    "phenoxyethanol-blend": 0.9,
}
SOAP = {"soap-noodles": 60, "kaolin": 20, "betaine-30": 15, "glycerin": 5}


def recipe(parts: dict[str, float]) -> dict[str, Any]:
    return {"lines": [{"material": key, "percent": percent} for key, percent in parts.items()]}


@pytest.mark.parametrize(
    ("ph", "danger"),
    [
        (2.0, True),
        (3.9, True),
        (4.0, False),
        (5.5, False),
        (9.0, False),
        (9.1, True),
        (9.8, True),
        (12.0, True),
    ],
)
def test_a_ph_beyond_every_bar_is_a_danger(ph: float, danger: bool) -> None:
    answer = advisor.assess({"recipe": recipe(SULFATE), "ph": ph})
    assert ("ph-of-no-bar" in {one.id for one in answer.findings if one.severity == "danger"}) == danger


@pytest.mark.parametrize(("ph", "danger"), [(9.8, False), (11.0, False), (11.1, True), (3.5, True)])
def test_soap_has_a_ph_of_its_own(ph: float, danger: bool) -> None:
    answer = advisor.assess({"recipe": recipe(SOAP), "ph": ph})
    assert ("ph-of-no-bar" in {one.id for one in answer.findings}) == danger


@pytest.mark.parametrize("ph", [3.0, 10.5])
def test_it_is_said_on_every_road(ph: float) -> None:
    for verb, answer in on_every_road(recipe(SULFATE)).items():
        assert "ph-of-no-bar" not in {one.id for one in answer.cautions}, verb
    for verb in ("assess", "correct", "weigh", "substitute"):
        more = {
            "correct": {"report": {"feel": "too_wet"}},
            "weigh": {"batch_grams": 500.0, "balance_step": 0.1},
        }
        more["substitute"] = {"missing": "kaolin"}
        body = {"recipe": recipe(SULFATE), "ph": ph, **more.get(verb, {})}
        assert "ph-of-no-bar" in {
            one.id for one in getattr(advisor, verb)(body).cautions if not one.standing
        }, verb


@pytest.mark.parametrize("ph", [3.0, 5.6, 6.4, 7.0, 9.5])
@pytest.mark.parametrize("one", ordinary.RECIPES, ids=lambda one: one.name)
def test_a_preservative_that_does_nothing_is_told_once(one: ordinary.Ordinary, ph: float) -> None:
    answer = advisor.assess({"recipe": one.recipe(), "ph": ph})
    ids = {finding.id for finding in answer.findings}
    of = load_rulebook().ingredients
    for finding in answer.findings:
        if finding.id == "pair:stated-ph" and "preservative-useless" in ids:
            assert not any("preservative" in of[key].material.roles for key in finding.about)
