"""A rework keeps every component's mass, what it says on the label, and the verdicts of the law."""

from typing import Any

import pytest

import advisor
from advisor.rulebook.load import load_rulebook
from helpers import ordinary, swap_judge

SHOP = load_rulebook().ingredients


def made(one: ordinary.Ordinary, **asked: Any) -> dict[str, Any]:
    request = {"recipe": one.recipe(), "dried": False, **asked}
    told: dict[str, Any] = advisor.rework(request).model_dump(mode="json", exclude_none=True)
    return told


def masses(one: ordinary.Ordinary) -> dict[str, float]:
    """Grams of each component in 100 g of dough, summed here."""
    found: dict[str, float] = {}
    for key, percent in one.lines.items():
        for name, share in swap_judge.library()[key]["composition"].items():
            found[name] = found.get(name, 0.0) + percent * share / 100
    return found


def with_rework(one: ordinary.Ordinary, material: dict[str, Any], percent: float) -> dict[str, Any]:
    lines = {key: x * (1 - percent / 100) for key, x in one.lines.items()} | {material["key"]: percent}
    whole = {"name": one.name, "lines": [{"material": key, "percent": x} for key, x in lines.items()]}
    return {"recipe": whole, "materials": [material]}


@pytest.mark.parametrize("one", ordinary.RECIPES, ids=lambda one: one.name)
def test_fresh_dough_keeps_every_component(one) -> None:
    held = made(one)["material"]["composition"]
    by_hand = masses(one)
    assert set(held) == set(by_hand)
    assert all(held[name] == pytest.approx(by_hand[name], abs=1e-9) for name in by_hand)


@pytest.mark.parametrize("mass_left", [None, 91.5])
@pytest.mark.parametrize("one", ordinary.RECIPES, ids=lambda one: one.name)
def test_of_a_dried_bar_water_alone_has_left(one, mass_left) -> None:
    asked = {"dried": True} | ({"mass_left": mass_left} if mass_left else {})
    material = made(one, **asked)["material"]
    by_hand, held = masses(one), material["composition"]
    solids = {name for name in by_hand if name != "Aqua"}
    left = 100 * by_hand["Glycerin"] / held["Glycerin"] if "Glycerin" in solids else None
    grams = mass_left or left or 100 * sum(by_hand[n] for n in solids) / sum(held[n] for n in solids)
    for name in solids:
        assert held[name] * grams / 100 == pytest.approx(by_hand[name], abs=1e-9)
    assert held.get("Aqua", 0.0) * grams / 100 == pytest.approx(by_hand["Aqua"] - (100 - grams), abs=1e-9)
    assert material["roles"] == ["rework"]
    assert material["use"]["max"] == 10


@pytest.mark.parametrize("market", ["eu", "us", "jp"])
@pytest.mark.parametrize("one", ordinary.RECIPES, ids=lambda one: one.name)
def test_fresh_dough_in_its_own_recipe_changes_no_label_no_strength_and_no_verdict(one, market) -> None:
    mixed = with_rework(one, made(one)["material"], 10.0)
    alone = {"recipe": one.recipe()}
    labels = [advisor.label({**asked, "market": market}).ingredients for asked in (alone, mixed)]
    assert set(labels[0]) == set(labels[1])
    assert labels[0][:4] == labels[1][:4]
    before, after = (advisor.assess({**asked, "wishes": {"market": market}}) for asked in (alone, mixed))
    assert after.totals.active + after.totals.cationic == pytest.approx(
        before.totals.active + before.totals.cationic * 0.9, abs=0.02
    )
    assert after.totals.water == pytest.approx(before.totals.water, abs=0.02)
    assert after.consistency.wetness == pytest.approx(before.consistency.wetness, abs=0.002)
    law = [{(c.name, c.state): (c.ok, c.value) for c in a.checks if c.kind == "law"} for a in (before, after)]
    assert law[0].keys() == law[1].keys()
    for check, (ok, value) in law[0].items():
        assert law[1][check][0] == ok
        assert law[1][check][1] == pytest.approx(value, rel=0.02)


@pytest.mark.parametrize("one", ordinary.RECIPES, ids=lambda one: one.name)
def test_a_rework_can_be_sent_back_and_carries_allergens_and_flags(one) -> None:
    material = made(one, dried=True)["material"]
    used = [SHOP[key].material for key in one.lines]
    assert set(material["allergens"]) == {text for each in used for text in each.allergens}
    states = [each.flags.vegan if each.flags else None for each in used]
    wanted = False if False in states else None if None in states else True
    assert material["flags"].get("vegan") is wanted
    answer = advisor.assess({**with_rework(one, material, 5.0), "wishes": {"market": "eu"}})
    assert "rework" in {caution.id for caution in answer.cautions}
    assert not any(check.name.endswith("usual range") and not check.ok for check in answer.checks)


def test_dried_rework_asks_back_the_water_it_lost() -> None:
    one = ordinary.RECIPES[0]
    answer = made(one, dried=True, mass_left=90.0)
    # 10 g of water left 90 g: 11.11 g on 100 g of rework, as plain water 1.15 times as much reference liquid.
    assert answer["material"]["uptake"] == pytest.approx(10 / 90 * 1.15)
    assert any("11.1 g on 100 g" in note["text"] for note in answer["notes"])


def test_it_is_no_lever_of_a_dough() -> None:
    one = ordinary.RECIPES[0]
    material = made(one)["material"]
    asked = {**with_rework(one, material, 10.0), "report": {"feel": "too_wet", "degree": "severe"}}
    answer = advisor.correct(asked)
    assert material["key"] not in {change.material for change in answer.changes}


def test_lots_are_traced_and_how_much_it_is_enough_for() -> None:
    answer = made(ordinary.RECIPES[0], lots={"kaolin": "K-3"}, grams=150.0)
    assert answer["lots"] == {"kaolin": "K-3"}
    texts = " ".join(note["text"] for note in answer["notes"])
    assert "K-3 of Kaolin" in texts and "enough for 1000 g" in texts


@pytest.mark.parametrize(
    ("asked", "where"),
    [
        ({"mass_left": 90.0}, "/mass_left"),
        ({"dried": True, "mass_left": 40.0}, "/mass_left"),
        ({"lots": {"water": "W-1"}}, "/lots/water"),
    ],
)
def test_what_cannot_be_is_refused(asked, where) -> None:
    with pytest.raises(advisor.AdvisorError) as refused:
        made(ordinary.RECIPES[0], **asked)
    assert refused.value.problem()["errors"][0]["where"] == where


def own(key: str, **told: Any) -> dict[str, Any]:
    return {
        "key": key,
        "name": key,
        "form": "powder",
        "roles": ["filler"],
        "composition": {key: 100.0},
        **told,
    }


MANY = [own(f"m-{at}", composition={f"{at}-{part}": 1.0 for part in range(100)}) for at in range(2)]
MARKED = [own(f"m-{at}", hazards=[f"H3{at}{code}" for code in range(40)]) for at in range(2)]
RAIN = own("m-1", composition={"Aqua": 100.0}, form="liquid", roles=["water"], price_per_kg=1e6)


@pytest.mark.parametrize(
    ("field", "materials", "percent", "dried"),
    [
        ("composition", MANY, 50.0, {"dried": True}),
        ("hazards", MARKED, 50.0, {"dried": False}),
        ("price per kg", [own("m-0", price_per_kg=1e6), RAIN], 90.0, {"dried": True, "mass_left": 95.0}),
        ("uptake", [own("m-0"), RAIN], 3.0, {"dried": True, "mass_left": 3.5}),
    ],
)
def test_a_recipe_that_is_more_than_a_material_may_say_is_refused(field, materials, percent, dried) -> None:
    lines = [{"material": "m-0", "percent": percent}, {"material": "m-1", "percent": 100 - percent}]
    with pytest.raises(advisor.AdvisorError) as refused:
        advisor.rework({"recipe": {"lines": lines}, "materials": materials, **dried})
    problem = refused.value.problem()
    assert (problem["status"], problem["errors"][0]["where"]) == (422, "/recipe")
    assert field in str(problem["errors"])


def test_a_long_name_is_cut() -> None:
    lines = [{"material": "kaolin", "percent": 60}, {"material": "betaine-30", "percent": 40}]
    answer = advisor.rework({"recipe": {"name": "x" * 200, "lines": lines}, "dried": False})
    assert len(answer.material.name) == 200


def test_the_oldest_lot_sets_the_date() -> None:
    import datetime

    from advisor.recipe.notebook import Notebook
    from advisor.schema.lot import Lot

    book = load_rulebook()
    lots = {
        ("kaolin", "K-1"): Lot(expires=datetime.date(2027, 5, 1)),
        ("water", "W-1"): Lot(expires=datetime.date(2027, 2, 1)),
    }
    lines = [
        {"material": "kaolin", "percent": 50, "lot": "K-1"},
        {"material": "water", "percent": 50, "lot": "W-1"},
    ]
    notebook = Notebook(book.dough, book.ingredients, lots=lots)
    answer = advisor.rework({"recipe": {"lines": lines}, "dried": False}, notebook=notebook)
    assert answer.expires == datetime.date(2027, 2, 1)


@pytest.mark.parametrize("dried", [False, True])
def test_more_rework_than_a_batch_bears_is_told_on_every_road(dried: bool) -> None:
    own = ordinary.RECIPES[0]
    material = advisor.rework({"recipe": own.recipe(), "dried": dried}).material.model_dump(exclude_none=True)
    most = {False: 15.0, True: 10.0}[dried]

    def told(name: str, percent: float) -> set[str]:
        lines = [
            {**line, "percent": round(line["percent"] * (100 - percent) / 100, 4)}
            for line in own.recipe()["lines"]
        ]
        lines.append(
            {"material": material["key"], "percent": round(100 - sum(one["percent"] for one in lines), 4)}
        )
        body = {"recipe": {"name": name, "lines": lines}, "materials": [material]}
        assessed = {one.id for one in advisor.assess(body).findings}
        corrected = {one.id for one in advisor.correct({**body, "report": {"feel": "workable"}}).cautions}
        assert assessed & {"rework-too-much"} == corrected & {"rework-too-much"}
        return assessed

    assert "rework-too-much" not in told(own.name, most - 0.5)
    assert "rework-too-much" in told(own.name, most + 0.5)
    assert "rework-too-much" not in told("Another bar", 4.5)
    assert "rework-too-much" in told("Another bar", 5.5)


@pytest.mark.parametrize("letters", [1, 100, 189, 190, 191, 196, 200])
def test_a_recipe_knows_its_own_rework_however_long_its_name_is(letters: int) -> None:
    own = ordinary.RECIPES[0]._replace(name="n" * letters)
    body = with_rework(own, made(own)["material"], 12.0)
    assert not [one for one in advisor.assess(body).findings if one.id.startswith("rework")]
    body["recipe"]["name"] = "m" * letters
    assert [one.id for one in advisor.assess(body).findings if one.id.startswith("rework")]


def test_rework_with_an_allergen_stays_out_of_a_recipe_without_it() -> None:
    nutty = {
        "name": "Nut bar",
        "lines": [
            {"material": "isethionate-powder", "percent": 60},
            {"material": "betaine-30", "percent": 30},
            {"material": "colloidal-oatmeal", "percent": 10},
        ],
    }
    material = advisor.rework({"recipe": nutty, "dried": False}).material.model_dump(exclude_none=True)
    assert material["allergens"]
    plain = [
        {"material": "isethionate-powder", "percent": 66},
        {"material": "betaine-30", "percent": 30},
        {"material": material["key"], "percent": 4},
    ]
    found = advisor.assess(
        {"recipe": {"name": "Plain bar", "lines": plain}, "materials": [material]}
    ).findings
    assert next(one.severity for one in found if one.id == "rework-allergens") == "dough"
    own = advisor.assess({"recipe": {"name": "Nut bar", "lines": plain}, "materials": [material]}).findings
    assert "rework-allergens" not in {one.id for one in own}


def test_what_is_never_reworked_is_said() -> None:
    notes = advisor.rework({"recipe": ordinary.RECIPES[0].recipe(), "dried": True}).notes
    assert "mouldy" in next(one.text for one in notes if one.id == "rework-never")


@pytest.mark.parametrize("dried", [True, False])
@pytest.mark.parametrize("name", ["", "Weir bar"])
def test_trimmings_without_a_name_are_told_to_count_as_anothers(name: str, dried: bool) -> None:
    lines = [{"material": "isethionate-powder", "percent": 70.0}, {"material": "betaine-30", "percent": 29.1}]
    lines.append({"material": "phenoxyethanol-blend", "percent": 0.9})
    notes = {
        one.id: one.text
        for one in advisor.rework({"recipe": {"name": name, "lines": lines}, "dried": dried}).notes
    }
    assert ("rework-nameless" in notes) == (not name)
    if not name:
        assert "at most 5 %" in notes["rework-nameless"]
