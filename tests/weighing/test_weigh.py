"""The tests of the weigh sheet."""

import random
from fractions import Fraction
from html.parser import HTMLParser
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from advisor import weigh
from advisor.errors import InvalidRecipe, InvalidRequest, UnknownMaterial
from advisor.learning import Dough
from advisor.printing.markdown import as_markdown
from advisor.printing.page import as_html
from advisor.printing.plain import as_text
from advisor.printing.weigh_sheet import weigh_sheet
from advisor.recipe.belief import method_key
from advisor.recipe.notebook import Notebook
from advisor.rulebook.load import load_rulebook
from advisor.schema.recipe import WithPH
from advisor.weighing.schema import WeighingAnswer
from helpers.makers import recipe as made_recipe

RECIPES: dict[str, dict[str, float]] = {
    "Estuary": {
        "isethionate-powder": 54,
        "kaolin": 12,
        "rice-flour": 8,
        "betaine-30": 12,
        "coco-glucoside-52": 4.5,
        "sunflower-oil": 5,
        "glycerin": 3.6,
        "phenoxyethanol-blend": 0.9,
    },
    "Lighthouse": {
        "sulfoacetate-powder": 30,
        "corn-starch": 24.2,
        "tapioca-starch": 15,
        "betaine-30": 22,
        "caprylyl-glucoside-60": 4,
        "propanediol": 3.3,
        "sodium-benzoate": 0.5,
        "potassium-sorbate": 0.3,
        "citric-acid": 0.7,
    },
    "Slate": {
        "sulfosuccinate-powder": 40,
        "isethionate-powder": 18.35,
        "green-clay": 6,
        "hydroxysultaine-42": 14,
        "cetyl-alcohol": 7,
        "stearic-acid": 6,
        "cocoa-butter": 4,
        "glycerin": 3.2,
        "phenoxyethanol-blend": 0.95,
        "lavender-oil": 0.5,
    },
    "Dune": {
        "coco-sulfate-needles": 45,
        "kaolin": 20,
        "oat-flour": 9.2,
        "betaine-30": 20,
        "sorbitol-70": 4,
        "benzyl-alcohol-blend": 0.9,
        "lactic-acid-80": 0.4,
        "xanthan-gum": 0.5,
    },
    "Cobalt": {
        "isethionate-powder": 60,
        "mica": 0.3,
        "iron-oxide-black": 0.033,
        "titanium-dioxide": 0.2,
        "arrowroot": 14.667,
        "cocoamphoacetate": 18,
        "glycerin": 4.9,
        "phenoxyethanol-blend": 1.0,
        "disodium-edta": 0.1,
        "fragrance-oil": 0.8,
    },
    "Thicket": {
        "glutamate-powder": 30,
        "glycinate-powder": 20,
        "bentonite-calcium": 8,
        "rice-flour": 12,
        "betaine-30": 20,
        "olive-oil": 4,
        "honey": 1.5,
        "panthenol-75": 1,
        "silk-protein": 1,
        "levulinate-blend": 2.5,
    },
    "Milkwood": {
        "taurate-powder": 35,
        "milk-powder": 5,
        "corn-starch": 25.45,
        "coco-glucoside-52": 20,
        "shea-butter": 6,
        "cetearyl-alcohol": 4,
        "sodium-lactate-60": 3,
        "phenoxyethanol-blend": 0.85,
        "fragrance-oil": 0.7,
    },
    "Anvil": {
        "isethionate-noodles": 50,
        "charcoal": 1,
        "kaolin": 18.4,
        "betaine-30": 18,
        "water": 6,
        "castor-oil": 3,
        "glycerin": 2.7,
        "caprylhydroxamic-blend": 0.9,
    },
    "Foundling": {
        "methyl-isethionate-powder": 55,
        "tapioca-starch": 18.7,
        "sulfosuccinate-paste": 20,
        "jojoba-oil": 3,
        "propanediol": 2,
        "dmdm-hydantoin-55": 0.4,
        "tocopherol": 0.1,
        "citric-acid-50": 0.8,
    },
    "Plain": {"isethionate-powder": 70.0, "betaine-30": 30.0},
}
STEPS = (0.01, 0.1, 1.0)
MARKETS = ("eu", "jp", "none")


def request(name: str = "Estuary", **more: Any) -> dict[str, Any]:
    lines = [{"material": key, "percent": percent} for key, percent in RECIPES[name].items()]
    return {"recipe": {"name": name, "lines": lines}, "batch_grams": 1000.0, "balance_step": 0.1} | more


def is_whole(grams: float, step: float) -> bool:
    return (Fraction(str(grams)) / Fraction(str(step))).denominator == 1


def exact_sum(grams: list[float]) -> Fraction:
    return sum((Fraction(str(one)) for one in grams), Fraction(0))


def by_key(answer: WeighingAnswer) -> dict[str, float]:
    return {line.material: line.grams for line in answer.lines}


def prove(answer: WeighingAnswer) -> None:
    """Hold an answer against what every weigh sheet must be, by its own figures."""
    steps = {one.balance: one.step_grams for one in answer.balances}
    grams = by_key(answer)
    assert exact_sum(list(grams.values())) == Fraction(str(answer.total_grams))
    for line in answer.lines:
        step = steps[line.balance]
        assert line.grams >= step
        assert is_whole(line.grams, step), line
        assert line.tolerance_grams >= step / 2 - 1e-12
    step_of = {line.material: steps[line.balance] for line in answer.lines}
    for held in (*answer.hold_back, *answer.hold_back_powders):
        assert is_whole(held.grams, step_of[held.material])
        assert held.grams <= grams[held.material]
    left = dict(grams)
    for premix in answer.premixes:
        assert premix.line_grams == grams[premix.material]
        off = round(premix.take_grams - premix.line_grams, 9)
        left[premix.carrier] = round(left[premix.carrier] - off, 9)
        assert left[premix.carrier] == premix.carrier_left_grams >= step_of[premix.carrier]
        for weight in (premix.material_grams, premix.carrier_grams, premix.take_grams):
            assert is_whole(weight, step_of[premix.material])
        assert is_whole(premix.carrier_left_grams, step_of[premix.carrier])
        dose = premix.take_grams * premix.material_grams / premix.premix_grams
        assert dose == pytest.approx(premix.dose_grams, abs=1e-6)
    taken = {premix.material: premix.take_grams for premix in answer.premixes}
    assert exact_sum([taken.get(key, mass) for key, mass in left.items()]) == Fraction(
        str(answer.total_grams)
    )
    told = {note.id for note in answer.notes}
    broken = [check for check in answer.checks if not check.ok and check.kind not in ("advice",)]
    assert not broken or told & {"recipe-breaks", "balance-too-coarse"}, broken


@pytest.mark.parametrize("step", STEPS)
@pytest.mark.parametrize("market", MARKETS)
@pytest.mark.parametrize("name", RECIPES)
def test_a_kilogram_adds_up_and_keeps_the_law_or_says_why_not(name: str, market: str, step: float) -> None:
    answer = weigh(request(name, balance_step=step, wishes={"market": market}))
    assert answer.total_grams == 1000.0
    prove(answer)
    legal = [check for check in answer.checks if check.kind == "law" and not check.ok]
    assert not legal or any(note.id in ("recipe-breaks", "balance-too-coarse") for note in answer.notes)


@pytest.mark.parametrize("name", RECIPES)
def test_each_line_lies_within_a_step_of_the_recipe(name: str) -> None:
    for step in STEPS:
        for line in weigh(request(name, balance_step=step, wishes={"market": "eu"})).lines:
            assert abs(line.grams - line.exact_grams) <= step + 1e-9, line


@st.composite
def orders(draw: st.DrawFn) -> dict[str, Any]:
    order: dict[str, Any] = {
        "recipe": made_recipe(draw(st.integers(0, 10_000))),
        "batch_grams": draw(st.sampled_from([50.0, 73.2, 200.0, 333.0, 999.9, 1000.0, 2750.5, 20_000.0])),
        "balance_step": draw(st.sampled_from([0.01, 0.05, 0.1, 0.5, 1.0])),
        "wishes": {"market": draw(st.sampled_from(["eu", "uk", "jp", "none"]))},
    }
    fine = draw(st.sampled_from([None, 0.01, 0.001]))
    if fine is not None:
        order["fine_balance_step"] = fine
    if draw(st.booleans()):
        order["dried_bar_grams"] = draw(st.sampled_from([25.0, 60.0, 100.0]))
    return order


@settings(max_examples=200, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow])
@given(orders())
def test_every_batch_adds_up_in_whole_steps(order: dict[str, Any]) -> None:
    answer = weigh(order)
    prove(answer)
    steps = {one.balance: one.step_grams for one in answer.balances}
    finest = min(steps.values())
    off = abs(answer.total_grams - order["batch_grams"])
    assert off <= max(steps.values()) / 2 + 1e-9
    if is_whole(order["batch_grams"], steps["coarse"]):
        assert off == 0
    repaired = any(note.id == "balance-too-coarse" for note in answer.notes)
    for line in answer.lines:
        step = steps[line.balance]
        bumped = line.exact_grams < step
        room = max(steps.values()) if step == finest else step
        assert repaired or bumped or abs(line.grams - line.exact_grams) <= 3 * room + 1e-9, line
    if "dried_bar_grams" in order:
        fill = answer.fill
        assert fill is not None
        dough = fill.dough_grams_per_bar
        assert dough.low <= dough.typical <= dough.high
        assert fill.bars * order["dried_bar_grams"] < answer.total_grams


def test_the_order_of_lines_does_not_matter() -> None:
    order = request("Cobalt", balance_step=1.0, fine_balance_step=0.01, dried_bar_grams=60.0)
    first = weigh(order)
    for seed in range(20):
        lines = list(order["recipe"]["lines"])
        random.Random(seed).shuffle(lines)
        assert weigh(order | {"recipe": {"name": "Cobalt", "lines": lines}}) == first


def test_grams_and_percent_of_one_recipe_are_weighed_alike() -> None:
    lines = [{"material": key, "grams": 7 * percent} for key, percent in RECIPES["Slate"].items()]
    assert by_key(weigh(request("Slate") | {"recipe": {"lines": lines}})) == by_key(weigh(request("Slate")))


FIELDS: list[tuple[str, Any, Any]] = [
    ("recipe", request("Estuary")["recipe"], request("Slate")["recipe"]),
    ("batch_grams", 1000.0, 500.0),
    ("balance_step", 0.1, 1.0),
    ("fine_balance_step", None, 0.01),
    ("phases", None, {"glycerin": "B"}),
    ("dried_bar_grams", None, 60.0),
    ("method", None, "mixer"),
    ("wishes", None, {"market": "eu"}),
    (
        "materials",
        None,
        [
            {
                "key": "glycerin",
                "name": "Own glycerin",
                "form": "liquid",
                "roles": ["humectant"],
                "composition": {"Glycerin": 80.0, "Aqua": 20.0},
            }
        ],
    ),
]


def test_the_table_of_fields_is_whole() -> None:
    from advisor.weighing.schema import WeighingRequest

    assert {name for name, _, _ in FIELDS} == set(WeighingRequest.model_fields) - set(WithPH.model_fields)


@pytest.mark.parametrize(("field", "one", "other"), FIELDS, ids=[field for field, _, _ in FIELDS])
def test_every_field_changes_the_answer(field: str, one: Any, other: Any) -> None:
    base = request()
    assert weigh(base | {field: one}) != weigh(base | {field: other})


BAD: list[tuple[dict[str, Any], type[Exception], str]] = [
    ({"balance_step": 0.0}, InvalidRequest, "/balance_step"),
    ({"balance_step": float("nan")}, InvalidRequest, "/balance_step"),
    ({"balance_step": 1 / 3}, InvalidRequest, "/balance_step"),
    ({"balance_step": "0.1"}, InvalidRequest, "/balance_step"),
    ({"balance_step": 500.0}, InvalidRequest, "/balance_step"),
    ({"fine_balance_step": 1.0}, InvalidRequest, "/fine_balance_step"),
    ({"batch_grams": -1.0}, InvalidRequest, "/batch_grams"),
    ({"batch_grams": 2_000_000.0}, InvalidRequest, "/batch_grams"),
    ({"dried_bar_grams": 0.0}, InvalidRequest, "/dried_bar_grams"),
    ({"phases": {"glycerin": "liquids"}}, InvalidRequest, "/phases/glycerin"),
    ({"phases": {"water": "A"}}, InvalidRequest, "/phases/water"),
    ({"wishes": {"lines": {"water": {"max": 1.0}}}}, InvalidRequest, "/wishes/lines/water"),
    ({"units": "oz"}, InvalidRequest, "/units"),
    ({"recipe": {"lines": [{"material": "kaolin", "percent": 99.0}]}}, InvalidRecipe, "/recipe/lines"),
    (
        {"recipe": {"lines": [{"material": "kaolim", "percent": 100.0}]}},
        UnknownMaterial,
        "/recipe/lines/0/material",
    ),
]


@pytest.mark.parametrize(("wrong", "error", "where"), BAD)
def test_a_wrong_request_is_told_its_place(wrong: dict[str, Any], error: type[Exception], where: str) -> None:
    with pytest.raises(error) as caught:
        weigh(request() | wrong)
    assert where in [fault.where for fault in caught.value.faults]  # type: ignore[attr-defined]


def test_an_unlawful_recipe_is_weighed_and_its_check_says_so() -> None:
    lines = [("isethionate-powder", 70.0), ("betaine-30", 28.0), ("phenoxyethanol-blend", 2.0)]
    recipe = {"lines": [{"material": key, "percent": percent} for key, percent in lines]}
    answer = weigh({"recipe": recipe, "batch_grams": 500.0, "balance_step": 0.1, "wishes": {"market": "eu"}})
    assert by_key(answer) == {"isethionate-powder": 350.0, "betaine-30": 140.0, "phenoxyethanol-blend": 10.0}
    over = [check for check in answer.checks if check.kind == "law" and not check.ok]
    assert (over[0].state, over[0].value) == ("as_made", 1.8)
    assert len(over) == 2
    assert "recipe-breaks" in {note.id for note in answer.notes}


def test_a_balance_that_cannot_keep_the_law_is_told() -> None:
    answer = weigh(request("Estuary", batch_grams=60.0, balance_step=1.0, wishes={"market": "eu"}))
    assert by_key(answer)["phenoxyethanol-blend"] == 1.0
    assert any(check.kind == "law" and not check.ok for check in answer.checks)
    assert any(note.id == "balance-too-coarse" and "finer balance" in note.text for note in answer.notes)
    fine = weigh(
        request(
            "Estuary", batch_grams=60.0, balance_step=1.0, fine_balance_step=0.01, wishes={"market": "eu"}
        )
    )
    assert all(check.ok for check in fine.checks if check.kind == "law")


def test_rounding_gives_way_to_a_limit() -> None:
    # 1.04 % of 250 g is 2.6 g: on a 1 g balance the nearest is 3 g, which would be 1.2 %.
    lines = [("isethionate-powder", 68.96), ("betaine-30", 30.0), ("propanediol", 1.04)]
    recipe = {"lines": [{"material": key, "percent": percent} for key, percent in lines]}
    order = {"recipe": recipe, "batch_grams": 250.0, "balance_step": 1.0}
    assert by_key(weigh(order))["propanediol"] == 3.0
    capped = weigh(order | {"wishes": {"components": {"Propanediol": {"max": 1.1}}}})
    assert by_key(capped)["propanediol"] == 2.0
    assert all(check.ok for check in capped.checks if check.kind == "wish")


def test_a_line_at_its_limit_is_not_to_be_weighed_over() -> None:
    # 1.0 % phenoxyethanol, the EU maximum, as made; the bar is dried, so it is over there and under here.
    lines = [("isethionate-powder", 89.1112), ("glycerin", 9.7777), ("phenoxyethanol-blend", 1.1111)]
    recipe = {"lines": [{"material": key, "percent": percent} for key, percent in lines]}
    answer = weigh(
        {"recipe": recipe, "batch_grams": 1000.0, "balance_step": 0.01, "wishes": {"market": "eu"}}
    )
    line = next(line for line in answer.lines if line.material == "phenoxyethanol-blend")
    assert line.warning is not None
    assert "Not a step more" in line.warning


def test_small_potent_lines_go_on_the_finer_balance_and_one_line_makes_up() -> None:
    answer = weigh(request("Cobalt", balance_step=1.0, fine_balance_step=0.01))
    balance = {line.material: line.balance for line in answer.lines}
    assert (
        balance["iron-oxide-black"] == balance["phenoxyethanol-blend"] == balance["fragrance-oil"] == "fine"
    )
    assert balance["isethionate-powder"] == "coarse"
    assert answer.total_grams == 1000.0
    assert by_key(answer)["iron-oxide-black"] == 0.33


def test_a_batch_between_steps_is_rounded_and_says_so() -> None:
    answer = weigh(request(batch_grams=1000.04))
    assert answer.total_grams == 1000.0
    assert "batch-rounded" in {note.id for note in answer.notes}
    assert weigh(request(batch_grams=1000.04, fine_balance_step=0.01)).total_grams == 1000.04


def test_fixed_lines_stay_at_the_nearest_step() -> None:
    wishes = {"fixed": ["sunflower-oil", "glycerin"], "market": "eu"}
    answer = weigh(request(batch_grams=333.0, balance_step=1.0, wishes=wishes))
    grams = by_key(answer)
    assert (grams["sunflower-oil"], grams["glycerin"]) == (17.0, 12.0)
    assert all(check.ok for check in answer.checks if check.about in (("sunflower-oil",), ("glycerin",)))


def test_too_little_is_warned_of_and_premixed() -> None:
    answer = weigh(request("Cobalt"))
    warned = {line.material: line.warning for line in answer.lines if line.warning}
    assert set(warned) == {"iron-oxide-black"}
    assert {one.material for one in answer.premixes} == {"iron-oxide-black"}
    premix = next(one for one in answer.premixes if one.material == "iron-oxide-black")
    assert premix.carrier == "arrowroot"
    assert premix.dose_grams == pytest.approx(0.33, abs=0.005)
    assert premix.error_percent < 2
    assert "Use the premix." in (warned["iron-oxide-black"] or "")


def test_no_premix_meets_a_forbidden_carrier() -> None:
    rulebook = load_rulebook()
    lines = [
        ("isethionate-powder", 60.0),
        ("chalk-ground", 15.9),
        ("betaine-30", 24.0),
        ("gluconolactone", 0.1),
    ]
    recipe = {"lines": [{"material": key, "percent": percent} for key, percent in lines]}
    answer = weigh({"recipe": recipe, "batch_grams": 100.0, "balance_step": 0.1}, rulebook=rulebook)
    assert not answer.premixes
    assert "finer" in (next(line for line in answer.lines if line.material == "gluconolactone").warning or "")


def places(answer: WeighingAnswer) -> dict[str, int]:
    return {step.id: place for place, step in enumerate(answer.steps)}


@pytest.mark.parametrize("name", RECIPES)
def test_the_work_stands_in_order(name: str) -> None:
    answer = weigh(request(name))
    at = places(answer)
    assert (
        at["make-ready"]
        < at["mask-on"]
        < at["blend-powders"]
        < at["knead"]
        < at["rest"]
        < at["shape"]
        < at["dry"]
    )
    for early in ("stir-liquids", "acid-into-liquids", "dissolve", "melt", "keep-back"):
        assert at.get(early, -1) < at["blend-powders"]
    letters = [line.phase for line in answer.lines]
    assert letters == sorted(letters)
    assert sorted(set(letters)) == list("ABCD"[: len(set(letters))])
    named = {key for step in answer.steps if step.phase for key in step.materials}
    assert named == set(RECIPES[name])


def test_a_melt_is_hot_enough_and_what_is_sensitive_waits() -> None:
    answer = weigh(request("Slate"))
    melt = next(step for step in answer.steps if step.id == "melt")
    assert melt.temperature_c == 65.0  # stearic acid melts highest, at 56
    assert set(melt.materials) == {"cetyl-alcohol", "stearic-acid", "cocoa-butter"}
    late = next(step for step in answer.steps if step.id == "knead-in-late")
    assert set(late.materials) == {"phenoxyethanol-blend", "lavender-oil"}
    assert late.temperature_c == 45.0
    join = next(step for step in answer.steps if step.id == "join-melt")
    assert join.temperature_c == melt.temperature_c
    assert "65 °C" in join.text
    assert places(answer)["knead"] < places(answer)["knead-in-late"]


def test_without_a_melt_the_preservative_goes_into_the_liquids() -> None:
    phase = {line.material: line.phase for line in weigh(request("Estuary")).lines}
    assert phase["phenoxyethanol-blend"] == phase["betaine-30"] == "A"
    assert phase["isethionate-powder"] == phase["kaolin"] == "B"


def test_phases_are_taken_as_given_and_acid_after_powder_is_told() -> None:
    given_phases = {"citric-acid": "C", "betaine-30": "A"}
    answer = weigh(request("Lighthouse", phases=given_phases))
    assert next(line.phase for line in answer.lines if line.material == "citric-acid") == "C"
    assert "acid-after-powders" in {note.id for note in answer.notes}
    assert "acid-after-powders" not in {note.id for note in weigh(request("Lighthouse")).notes}


def test_a_tenth_of_the_liquids_is_kept_back_but_no_preservative() -> None:
    answer = weigh(request("Estuary"))
    assert {one.material: one.grams for one in answer.hold_back} == {
        "betaine-30": 12.0,
        "coco-glucoside-52": 4.5,
        "glycerin": 3.6,
    }
    assert {one.material: one.grams for one in answer.hold_back_powders} == {
        "isethionate-powder": 27.0,
        "kaolin": 6.0,
        "rice-flour": 4.0,
    }


def test_the_bars_of_a_batch_follow_from_what_dries_and_what_is_lost() -> None:
    # 30 % of a liquid with 64 % water: 19.2 g of 100 leave by 0.6 to 0.9, typically 0.75: 85.6 g are left.
    # 60 / 0.856 = 70.09 g and 1.5 g more: 71.6 g; of 1000 g some 3.7 % are lost: 963 / 71.6 = 13 bars.
    answer = weigh(request("Plain", dried_bar_grams=60.0))
    assert answer.fill is not None
    assert answer.fill.dough_grams_per_bar.typical == pytest.approx(71.6, abs=0.3)
    assert answer.fill.bars == 13
    assert weigh(request("Plain")).fill is None
    assert "no-bar" in {
        note.id for note in weigh(request("Plain", batch_grams=50.0, dried_bar_grams=100.0)).notes
    }


class Tags(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.seen: list[tuple[str, dict[str, str | None]]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.seen.append((tag, dict(attrs)))
        if tag not in ("meta", "link"):
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag


@pytest.mark.parametrize("units", ["g", "oz"])
@pytest.mark.parametrize("name", RECIPES)
def test_the_forms_carry_every_line_and_step(name: str, units: Any) -> None:
    answer = weigh(request(name, balance_step=1.0, fine_balance_step=0.01, dried_bar_grams=70.0))
    sheet = weigh_sheet(answer, units)
    text, markdown, page = as_text(sheet), as_markdown(sheet), as_html(sheet)
    for line in answer.lines:
        shown = line.grams / 28.349523125 if units == "oz" else line.grams
        step = 1.0 if line.balance == "coarse" else 0.01
        decimals = {("g", 1.0): 0, ("g", 0.01): 2, ("oz", 1.0): 2, ("oz", 0.01): 4}[units, step]
        for form in (text, markdown, page):
            assert f"{shown:.{decimals}f}" in form
            assert line.name.split(",")[0] in form
    assert text.count("[ ]") >= len(answer.lines) + len(answer.steps)
    assert page.count("\u2610") == text.count("[ ]")


def test_the_page_has_neither_script_nor_style_and_escapes_names() -> None:
    order = request()
    order["recipe"]["name"] = '<b>Tom & "Jerry"</b> | *x*'
    sheet = weigh_sheet(weigh(order))
    page = as_html(sheet)
    tags = Tags()
    tags.feed(page)
    assert not tags.open
    names = [tag for tag, _ in tags.seen]
    assert "script" not in names and "style" not in names and "b" not in names
    assert not any(name == "style" or name.startswith("on") for _, attrs in tags.seen for name in attrs)
    links = [attrs for tag, attrs in tags.seen if tag == "link"]
    assert links == [{"rel": "stylesheet", "href": "/static/styles/paper.css"}]
    assert "&lt;b&gt;Tom &amp; &quot;Jerry&quot;&lt;/b&gt;" in page
    assert "\\*x\\*" in as_markdown(sheet)


@pytest.mark.parametrize(
    ("key", "steps", "warned", "premixed"),
    [
        ("fragrance-oil", 16, True, False),  # half a step over 3 %
        ("fragrance-oil", 17, False, False),
        ("fragrance-oil", 4, True, True),
        ("citric-acid", 9, True, False),  # 5 %
        ("citric-acid", 10, False, False),
        ("lye-10", 24, True, False),  # 2 %
        ("lye-10", 25, False, False),
        ("disodium-edta", 4, True, True),  # under five steps
        ("disodium-edta", 5, False, False),
        ("iron-oxide-black", 16, True, True),  # colour shows
        ("iron-oxide-black", 17, False, False),
    ],
)
@pytest.mark.parametrize("step", [0.1, 1.0])
def test_what_is_too_coarse_by_its_role(
    key: str, steps: int, warned: bool, premixed: bool, step: float
) -> None:
    grams = {key: steps * step, "kaolin": 100 * step, "isethionate-powder": 600 * step, "water": 100 * step}
    grams |= {"betaine-30": (200 - steps) * step, "sunflower-oil": 100 * step}
    recipe = {"lines": [{"material": one, "grams": round(amount, 4)} for one, amount in grams.items()]}
    answer = weigh({"recipe": recipe, "batch_grams": sum(grams.values()), "balance_step": step})
    line = next(line for line in answer.lines if line.material == key)
    assert line.grams == pytest.approx(steps * step)
    assert (line.warning is not None) == warned
    assert (key in {premix.material for premix in answer.premixes}) == premixed


PLAIN = {"lines": [{"material": "isethionate-powder", "percent": 60}, {"material": "kaolin", "percent": 12},
                   {"material": "betaine-30", "percent": 28}]}  # fmt: skip


def sheet(grams: float, method: str | None, **known: Any) -> WeighingAnswer:
    asked: dict[str, Any] = {"recipe": PLAIN, "batch_grams": grams, "balance_step": 0.1}
    return weigh(asked if method is None else {**asked, "method": method}, **known)


def held(answer: WeighingAnswer) -> dict[str, float]:
    return {line.material: line.grams for line in (*answer.hold_back, *answer.hold_back_powders)}


@pytest.mark.parametrize(
    ("grams", "method", "said"),
    [
        (200, None, 0),
        (5000, None, 0),
        (200, "hand", 0),
        (200, "mixer", 1),
        (200, "press", 1),
        (3000, "hand", 1),
        (3000, "mixer", 2),
    ],
)
def test_a_method_or_a_size_that_no_dough_taught_says_what_to_expect(
    grams: float, method: str | None, said: int
) -> None:
    answer, plain = sheet(grams, method), sheet(grams, None)
    ids = [note.id for note in answer.notes]
    assert ids.count("scale-up") == said
    assert ("side-test" in ids) == bool(said)
    for key, kept in held(plain).items():
        assert held(answer)[key] == pytest.approx(kept * (1.5 if said else 1.0), abs=0.1)


def test_what_a_method_taught_needs_no_side_test() -> None:
    book = load_rulebook()
    taught = Dough(0.0, {"isethionate-powder": 0.9, method_key("mixer"): 1.0}, 4)
    shop = Notebook(book.dough, book.ingredients, doughs=(taught,))
    ids = {note.id for note in sheet(3000, "mixer", notebook=shop).notes}
    assert not ids & {"scale-up", "side-test"}
    assert "scale-up" in {note.id for note in sheet(3000, "press", notebook=shop).notes}
