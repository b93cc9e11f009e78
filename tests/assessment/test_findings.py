"""An assessment has an opinion: what stands out, worst first."""

from typing import Any

import pytest

import advisor
from helpers.recipes import filled

ORDER = ["danger", "law", "dough", "advice"]


def of(parts: dict[str, float], **more: Any) -> dict[str, Any]:
    answer = advisor.assess({"recipe": filled(parts), **more})
    return {one.id: one for one in answer.findings}


def test_an_ordinary_recipe_hears_so() -> None:
    assert [one.text for one in of({}).values()] == [
        "Nothing stands out. I do not know your powders yet: report a dough."
    ]
    past = [{"recipe": filled({}), "report": {"feel": "workable"}}]
    assert [one.text for one in of({}, history=past).values()] == ["Nothing stands out."]


@pytest.mark.parametrize("past", [3, 8, 15])
@pytest.mark.parametrize(("feel", "betaine", "side"), [("too_wet", 26.0, "wet"), ("too_dry", 14.0, "dry")])
def test_a_recipe_beside_where_ones_doughs_work_is_no_ordinary_one(
    past: int, feel: str, betaine: float, side: str
) -> None:
    judged = {"recipe": filled({"betaine-30": betaine}), "report": {"feel": feel, "degree": "severe"}}
    works = {"recipe": filled({"betaine-30": 20.0}), "report": {"feel": "workable"}}
    history = [works] * past + [judged] * past
    found = of({"betaine-30": betaine}, history=history)
    assert f"lies on the {side} side for its powders" in found["beside-own-doughs"].text
    assert found["beside-own-doughs"].severity == "dough"
    assert "nothing-stands-out" not in found
    assert "beside-own-doughs" not in of({"betaine-30": 20.0}, history=history)


@pytest.mark.parametrize(
    ("parts", "found", "severity", "about"),
    [
        ({"jojoba-oil": 9.0}, "much-oil", "dough", "jojoba-oil"),
        (
            {"isethionate-powder": 5.0, "coco-sulfate-needles": 40.0},
            "coarse-powder",
            "dough",
            "coco-sulfate-needles",
        ),
        ({"glycerin": 9.0}, "much-humectant", "dough", "glycerin"),
        ({"betaine-30": 5.0, "glycerin": 14.0}, "mostly-humectant", "dough", "glycerin"),
        ({"betaine-30": 4.0, "jojoba-oil": 9.0}, "little-water-based-liquid", "dough", "betaine-30"),
        ({"bentonite-sodium": 7.0}, "swelling-clay", "dough", "bentonite-sodium"),
        ({"kaolin": 26.0}, "much-clay", "dough", "kaolin"),
        ({"glycerin": 12.0}, "usual:glycerin", "advice", "glycerin"),
        ({"phenoxyethanol-blend": 0.3}, "usual:phenoxyethanol-blend", "advice", "phenoxyethanol-blend"),
    ],
)
def test_what_stands_out_is_named(parts: dict[str, float], found: str, severity: str, about: str) -> None:
    finding = of(parts)[found]
    assert finding.severity == severity
    assert about in finding.about
    assert found not in of({})


def test_a_value_outside_the_usual_range_is_not_called_met() -> None:
    answer = advisor.assess({"recipe": filled({"glycerin": 20.0})})
    usual = next(check for check in answer.checks if check.about == ("glycerin",) and check.kind == "use")
    assert (usual.value, usual.max, usual.ok) == (20.0, 10.0, False)
    assert "20 %, where 0.5 to 10 % is usual" in of({"glycerin": 20.0})["usual:glycerin"].text


def test_the_law_comes_before_the_dough() -> None:
    found = of({"phenoxyethanol-blend": 1.4, "glycerin": 12.0}, wishes={"market": "eu"})
    severities = [one.severity for one in found.values()]
    assert severities[0] == "law"
    assert severities == sorted(severities, key=ORDER.index)
    law = next(one for one in found.values() if one.severity == "law")
    assert "phenoxyethanol-blend" in law.about
    assert all(one.text.endswith(".") for one in found.values())


def test_a_wish_that_is_not_met_stands_out() -> None:
    assert any(one.id.startswith("wish:") for one in of({}, wishes={"active": {"min": 80}}).values())
    assert not any(one.id.startswith("wish:") for one in of({}, wishes={"active": {"min": 20}}).values())


def test_refatting_matter_is_no_strength() -> None:
    plain = advisor.assess({"recipe": filled({})}).totals
    for refatting in ("peg-7-glyceryl-cocoate", "polyglyceryl-10-laurate"):
        totals = advisor.assess({"recipe": filled({refatting: 3.0})}).totals
        assert totals.active == pytest.approx(plain.active * 0.97, rel=0.01)
        assert totals.active == totals.primary_active


@pytest.mark.parametrize(
    ("betaine", "found"),
    [(8.0, "little-liquid"), (23.0, None), (27.0, None), (38.0, "much-liquid"), (45.0, "much-liquid")],
)
def test_a_first_guess_far_from_every_dough_is_not_passed_over(betaine: float, found: str | None) -> None:
    told = of({"betaine-30": betaine})
    assert {"much-liquid", "little-liquid"} & told.keys() == ({found} if found else set())
    if found:
        assert told[found].severity == "dough"
        assert "Cocamidopropyl betaine" in told[found].text
        assert "nothing-stands-out" not in told


def test_powders_without_any_liquid_are_told_to_have_little() -> None:
    lines = [{"material": "kaolin", "percent": 60}, {"material": "corn-starch", "percent": 40}]
    [told] = (
        one for one in advisor.assess({"recipe": {"lines": lines}}).findings if one.id == "little-liquid"
    )
    assert "(0 times what they take up, from nothing)" in told.text


def test_ones_own_doughs_outrank_the_first_guess() -> None:
    works = [{"recipe": filled({"betaine-30": 38.0}), "report": {"feel": "workable"}}] * 8
    assert "much-liquid" not in of({"betaine-30": 38.0}, history=works)


@pytest.mark.parametrize("key", ["coco-sulfate-powder", "lauryl-sulfate-powder", "olefin-sulfonate-powder"])
@pytest.mark.parametrize(
    ("place", "percent", "told"),
    [("face", 20.0, True), ("face", 8.0, False), ("hair", 20.0, False), (None, 20.0, False)],
)
def test_a_sulfate_stands_out_on_a_face(key: str, place: str | None, percent: float, told: bool) -> None:
    wishes = {"used_on": place} if place else {}
    assert ("sulfate-on-a-face" in of({key: percent}, wishes=wishes)) == told
