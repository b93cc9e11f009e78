"""Changing any field a correction may carry changes the answer."""

import copy
from typing import Any

import pytest

import advisor

LINES = [
    ("coco-sulfate-needles", 20.0),
    ("isethionate-powder", 32.0),
    ("kaolin", 10.0),
    ("corn-starch", 5.0),
    ("betaine-30", 18.0),
    ("cetyl-alcohol", 4.0),
    ("glycerin", 5.0),
    ("jojoba-oil", 5.0),
    ("phenoxyethanol-blend", 1.0),
]
RYE = {
    "key": "rye-starch",
    "name": "Rye starch",
    "form": "powder",
    "roles": ["filler"],
    "composition": {"Secale Cereale Starch": 95, "Aqua": 5},
    "uptake": 0.4,
    "price_per_kg": 0.5,
    "use": {"min": 0, "max": 20},
}
PAST = {"recipe": None, "report": {"feel": "too_wet", "degree": "severe"}}


def recipe(**changed: float) -> dict[str, Any]:
    amounts = dict(LINES) | {key.replace("_", "-"): value for key, value in changed.items()}
    return {"name": "Weir bar", "lines": [{"material": key, "percent": p} for key, p in amounts.items() if p]}


def base(feel: str = "too_wet") -> dict[str, Any]:
    return {"recipe": recipe(), "report": {"feel": feel}, "shelf": ["sorbitol-70"]}


def told(body: dict[str, Any]) -> dict[str, Any]:
    return advisor.correct(body).model_dump()


def with_material(**changed: Any) -> dict[str, Any]:
    return {
        **base("too_dry"),
        "recipe": recipe(corn_starch=0, rye_starch=5.0),
        "materials": [{**RYE, **changed}],
    }


REPORTS = [
    ("too_wet", "degree", "severe"),
    ("too_wet", "feel", "too_dry"),
    *[
        ("too_wet", "signs", [sign])
        for sign in ("smears", "sags", "sticks_to_hand", "sticky_but_stiff", "sweats")
    ],
    *[("crumbling", "signs", [sign]) for sign in ("dusty", "pale", "cracks_when_rolled", "greasy", "shiny")],
    *[("crumbling", "signs", [sign]) for sign in ("breaks_at_poke", "short_ribbon", "gritty")],
    ("too_dry", "kneaded_minutes", 2),
    ("too_dry", "kneaded_minutes", 12),
    ("too_wet", "rested_minutes", 3),
    ("too_wet", "room_c", 33),
    ("stays_soft", "room_rh", 80),
    ("too_wet", "dough_c", 45),
    ("too_wet", "minutes_since_melt", 5),
    ("too_wet", "method", "mixer"),
]


@pytest.mark.parametrize(("feel", "field", "value"), REPORTS)
def test_every_field_of_a_report(feel: str, field: str, value: Any) -> None:
    body = base(feel)
    changed = copy.deepcopy(body)
    changed["report"][field] = value
    assert told(changed) != told(body)


WISHES = [
    ("active", {"min": 41.0}),
    ("active", {"max": 45.0}),
    ("fixed", ["betaine-30"]),
    ("lines", {"kaolin": {"min": 12}}),
    ("lines", {"betaine-30": {"max": 15}}),
    ("components", {"Glycerin": {"max": 4}}),
    ("components", {"kaolin": {"min": 11}}),
    ("components_dried", {"Kaolin": {"min": 12}}),
    ("market", "eu"),
    ("aim", "lowest_cost"),
    ("confidence", 0.9),
]


@pytest.mark.parametrize(("field", "value"), WISHES)
def test_every_wish(field: str, value: Any) -> None:
    assert told({**base(), "wishes": {field: value}}) != told(base())


def test_the_market_names_its_law() -> None:
    sources = {
        market: {
            c["source"]
            for c in told({**base(), "wishes": {"market": market}})["checks"]
            if c["kind"] == "law"
        }
        for market in ("eu", "uk", "jp")
    }
    assert len(set(map(frozenset, sources.values()))) == 3


def test_new_materials_at_most() -> None:
    body = {
        **base("cracks_while_drying"),
        "recipe": recipe(glycerin=0, betaine_30=23.0),
        "shelf": ["glycerin", "propanediol", "sorbitol-70"],
    }
    assert len(told(body)["recipe"]["lines"]) == len(body["recipe"]["lines"]) + 1
    none = told({**body, "wishes": {"new_materials_at_most": 0}})
    assert len(none["recipe"]["lines"]) == len(body["recipe"]["lines"])
    assert any(note["id"] == "target-not-reached" for note in none["notes"])


def test_the_shelf() -> None:
    body = {**base("cracks_while_drying"), "recipe": recipe(glycerin=0, betaine_30=23.0), "shelf": None}
    assert told({**body, "shelf": ["glycerin"]}) != told(body)


def test_history() -> None:
    past = {**PAST, "recipe": recipe(betaine_30=23.0, kaolin=5.0)}
    assert told({**base(), "history": [past]}) != told(base())


def test_the_recipe_and_its_name() -> None:
    named = base()
    named["recipe"]["name"] = "Sluice bar"
    assert told(named)["recipe"]["name"] == "Sluice bar"
    assert told({**base(), "recipe": recipe(kaolin=9.0, corn_starch=6.0)}) != told(base())


MATERIALS = [
    ("name", "Winter rye"),
    ("form", "liquid"),
    ("roles", ["preservative"]),
    ("composition", {"Phenoxyethanol": 10, "Secale Cereale Starch": 90}),
    ("active", 20),
    ("water", 30),
    ("uptake", 0.9),
    ("uptake", {"typical": 0.4, "low": 0.1, "high": 0.9}),
    ("price_per_kg", 90),
    ("use", {"min": 0, "max": 5.5}),
    ("fineness", "coarse"),
    ("hazards", ["H314"]),
    ("allergens", ["rye"]),
    ("soluble", True),
]


@pytest.mark.parametrize(("field", "value"), MATERIALS)
def test_every_figure_of_a_material(field: str, value: Any) -> None:
    plain, changed = with_material(), with_material(**{field: value})
    for body in (plain, changed):
        body["report"] = {"feel": "too_wet" if field == "soluble" else "too_dry"}
        body["wishes"] = {"market": "eu", "fixed": ["isethionate-powder", "kaolin", "coco-sulfate-needles"]}
    answers = []
    for body in (plain, changed):
        try:
            answers.append(told(body))
        except advisor.AdvisorError as error:
            answers.append(error.problem() | {"instance": ""})
    assert answers[0] != answers[1]


def test_the_charge_of_an_active_material() -> None:
    anionic, cationic = (
        told({**with_material(active=20, charge=charge)})["before"]["totals"]
        for charge in ("anionic", "cationic")
    )
    assert anionic["active"] - cationic["active"] == pytest.approx(1.0)
    assert cationic["cationic"] == pytest.approx(1.0)


def test_a_measured_uptake_is_no_estimate() -> None:
    lines = [{"material": "rye-starch", "percent": 70}, {"material": "rain", "percent": 30}]
    rain = {"key": "rain", "name": "Rain", "form": "liquid", "roles": ["water"], "composition": {"Aqua": 100}}
    own = {"basis": "own", "source": "measured in the workshop"}
    for measured in (True, False):
        uptake = {"typical": 0.4, **(own if measured else {})}
        wetting = {"typical": 1.1, **(own if measured else {})}
        materials = [{**RYE, "uptake": uptake}, {**rain, "wetting": wetting}]
        answer = advisor.assess({"recipe": {"lines": lines}, "materials": materials})
        assert ("estimate" in {item.id for item in answer.cautions}) == (not measured)
