"""Every bad request is refused with its code and its place, and nothing else happens."""

from typing import Any

import pytest

import advisor
from advisor.errors import AdvisorError, InvalidRecipe, InvalidRequest

GOOD = [
    {"material": "isethionate-powder", "percent": 60},
    {"material": "betaine-30", "percent": 25},
    {"material": "kaolin", "percent": 15},
]


def lines(*changed: dict[str, Any]) -> dict[str, Any]:
    return {"recipe": {"lines": [*changed, *GOOD[len(changed) :]]}, "report": {"feel": "too_wet"}}


def with_first(**line: Any) -> dict[str, Any]:
    return lines({"material": "isethionate-powder", **line})


def wished(**wishes: Any) -> dict[str, Any]:
    return {**lines(), "wishes": wishes}


def reported(**report: Any) -> dict[str, Any]:
    return {**lines(), "report": {"feel": "too_wet", **report}}


def inline(**changed: Any) -> dict[str, Any]:
    material = {
        "key": "mine",
        "name": "Mine",
        "form": "powder",
        "roles": ["filler"],
        "composition": {"X": 100},
    }
    return {**lines(), "materials": [{**material, **changed}]}


TABLE = [
    (with_first(percent=float("nan")), "invalid-request", "/recipe/lines/0/percent"),
    (with_first(percent=float("inf")), "invalid-request", "/recipe/lines/0/percent"),
    (with_first(percent=-60), "invalid-request", "/recipe/lines/0/percent"),
    (with_first(percent=0), "invalid-request", "/recipe/lines/0/percent"),
    (with_first(percent="60"), "invalid-request", "/recipe/lines/0/percent"),
    (with_first(percent=True), "invalid-request", "/recipe/lines/0/percent"),
    (with_first(percent=101), "invalid-request", "/recipe/lines/0/percent"),
    (with_first(percent=59), "invalid-recipe", "/recipe/lines"),
    (with_first(percent=61), "invalid-recipe", "/recipe/lines"),
    (with_first(grams=60), "invalid-recipe", "/recipe/lines/0"),
    (with_first(), "invalid-recipe", "/recipe/lines/0"),
    (with_first(percent=60, grams=60), "invalid-recipe", "/recipe/lines/0"),
    (with_first(percent=60, colour="red"), "invalid-request", "/recipe/lines/0/colour"),
    (lines({"material": "betaine-30", "percent": 60}), "invalid-recipe", "/recipe/lines/1/material"),
    (lines({"material": "isethionate", "percent": 60}), "unknown-material", "/recipe/lines/0/material"),
    (lines({"material": "Isethionate Powder", "percent": 60}), "invalid-request", "/recipe/lines/0/material"),
    (lines({"material": "", "percent": 60}), "invalid-request", "/recipe/lines/0/material"),
    (lines({"material": "käölin", "percent": 60}), "invalid-request", "/recipe/lines/0/material"),
    ({"recipe": {"lines": []}, "report": {"feel": "too_wet"}}, "invalid-request", "/recipe/lines"),
    ({"recipe": {"lines": GOOD * 3_334}, "report": {"feel": "too_wet"}}, "invalid-request", "/recipe/lines"),
    ({"report": {"feel": "too_wet"}}, "invalid-request", "/recipe"),
    ({"recipe": {"lines": GOOD}}, "invalid-request", "/report"),
    ({**lines(), "sheet": []}, "invalid-request", "/sheet"),
    ({**lines(), "recipe": "bar"}, "invalid-request", "/recipe"),
    ({**lines(), "recipe": {"name": "x" * 201, "lines": GOOD}}, "invalid-request", "/recipe/name"),
    (reported(feel="soggy"), "invalid-request", "/report/feel"),
    (reported(degree="awful"), "invalid-request", "/report/degree"),
    (reported(signs=["smears", "hums"]), "invalid-request", "/report/signs/1"),
    (reported(kneaded_minutes=-1), "invalid-request", "/report/kneaded_minutes"),
    (reported(room_rh=101), "invalid-request", "/report/room_rh"),
    (reported(dough_c=float("nan")), "invalid-request", "/report/dough_c"),
    (reported(method="foot"), "invalid-request", "/report/method"),
    (wished(active={"min": -1}), "invalid-request", "/wishes/active/min"),
    (wished(active={"min": 60, "max": 50}), "no-recipe-fits", "/wishes/active/min"),
    (wished(fixed=["rice-flour"]), "invalid-request", "/wishes/fixed/0"),
    (wished(lines={"rice-flour": {"max": 3}}), "invalid-request", "/wishes/lines/rice-flour"),
    (
        wished(lines={"kaolin": {"min": 20}, "betaine-30": {"min": 85}}),
        "no-recipe-fits",
        "/wishes/lines/kaolin/min",
    ),
    (
        wished(components={"Nowhere Found": {"min": 1}}),
        "no-recipe-fits",
        "/wishes/components/Nowhere Found/min",
    ),
    (wished(market="mars"), "invalid-request", "/wishes/market"),
    (wished(new_materials_at_most=-1), "invalid-request", "/wishes/new_materials_at_most"),
    (wished(confidence=1.5), "invalid-request", "/wishes/confidence"),
    ({**lines(), "shelf": ["moon-dust"]}, "unknown-material", "/shelf/0"),
    (inline(composition={"X": 98}), "invalid-request", "/materials/0/composition"),
    (inline(composition={"X": float("inf")}), "invalid-request", "/materials/0/composition/X"),
    (inline(form="gas"), "invalid-request", "/materials/0/form"),
    (inline(roles=[]), "invalid-request", "/materials/0/roles"),
    (inline(active={"typical": 50, "low": 60}), "invalid-request", "/materials/0/active"),
    (inline(uptake=-1), "invalid-request", "/materials/0/uptake"),
    (inline(use={"min": 9, "max": 3}), "invalid-request", "/materials/0/use"),
    ({**lines(), "materials": inline()["materials"] * 2}, "invalid-request", "/materials/1/key"),
    (
        {**lines(), "history": [{"recipe": {"lines": GOOD[:2]}, "report": {"feel": "too_wet"}}]},
        "invalid-recipe",
        "/history/0/recipe/lines",
    ),
    (wished(fixed=["isethionate-powder", "betaine-30", "kaolin"]), "no-recipe-fits", "/wishes/fixed/0"),
]


@pytest.mark.parametrize(("body", "code", "where"), TABLE)
def test_bad_requests_name_their_place(body: dict[str, Any], code: str, where: str) -> None:
    with pytest.raises(AdvisorError) as refusal:
        advisor.correct(body)
    problem = refusal.value.problem()
    assert problem["code"] == code
    assert where in {fault["where"] for fault in problem["errors"]}
    assert all(fault["problem"] for fault in problem["errors"])
    assert problem["status"] == 422


@pytest.mark.parametrize(
    ("amounts", "blamed"),
    [
        ([{}, {"percent": 30}, {"percent": 70}], [0]),
        ([{"grams": 5}, {"percent": 30}, {"percent": 70}], [0]),
        ([{"percent": 30}, {"percent": 30, "grams": 3}, {"percent": 40}], [1]),
        ([{"grams": 30}, {"grams": 30}, {"percent": 40}], [2]),
        ([{"grams": 30}, {"percent": 70}], [0]),
    ],
)
def test_the_line_that_differs_is_blamed(amounts: list[dict[str, float]], blamed: list[int]) -> None:
    keys = ("isethionate-powder", "kaolin", "betaine-30")
    written = [{"material": key, **amount} for key, amount in zip(keys, amounts, strict=False)]
    with pytest.raises(InvalidRecipe) as refusal:
        advisor.assess({"recipe": {"lines": written}})
    assert [fault.where for fault in refusal.value.faults] == [f"/recipe/lines/{at}" for at in blamed]


@pytest.mark.parametrize(
    ("name", "nearest"),
    [
        ("Sodium Cocoyl Isethionate", "isethionate-powder"),
        ("Cocamidopropyl Betaine", "betaine-30"),
        ("Kaolin", "kaolin"),
        ("KAOLINN", "kaolin"),
        ("cocamidoproyl betain", "betaine-30"),
        ("SCI powdr", "isethionate-powder"),
        ("sodium lauryl sulfoacetat", "sulfoacetate-powder"),
        ("Reismehl", None),
    ],
)
def test_a_name_in_the_place_of_a_key_is_told_the_nearest_keys(name: str, nearest: str | None) -> None:
    with pytest.raises(InvalidRequest) as refusal:
        advisor.correct(lines({"material": name, "percent": 60}))
    (fault,) = refusal.value.faults
    assert fault.problem == "names no material"
    assert nearest is None or f"({nearest})" in fault.hint


def test_an_unknown_material_comes_with_the_nearest_keys() -> None:
    with pytest.raises(AdvisorError) as refusal:
        advisor.correct(lines({"material": "betain-30", "percent": 60}))
    assert refusal.value.problem()["nearest_keys"][0] == "betaine-30"


@pytest.mark.parametrize(
    ("typed", "key"),
    [
        ("sci", "isethionate-powder"),
        ("glycerine", "glycerin"),
        ("aqua", "water"),
        ("olea-europaea-fruit-oil", "olive-oil"),
    ],
)
def test_plain_names_and_inci_names_lead_to_a_key(typed: str, key: str) -> None:
    with pytest.raises(AdvisorError) as refusal:
        advisor.correct(lines({"material": typed, "percent": 60}))
    assert key in refusal.value.problem()["nearest_keys"]


def test_null_is_the_same_as_absent() -> None:
    plain = advisor.correct(lines())
    empty = {
        **lines(),
        "wishes": None,
        "shelf": None,
        "materials": None,
        "history": None,
        "report": {"feel": "too_wet", "degree": None, "signs": None, "dough_c": None},
    }
    assert advisor.correct(empty) == plain


def test_a_total_within_five_hundredths_is_scaled_and_said() -> None:
    answer = advisor.correct(with_first(percent=60.04))
    assert "normalised" in {note.id for note in answer.notes}
    assert sum(round(line.percent * 100) for line in answer.recipe.lines) == 10_000
