"""Tests substitutions: generated swaps against scipy, named rules, arithmetic, every field."""

import random
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from advisor import AdvisorError, substitute
from advisor.errors import InvalidRequest, NoRecipeFits, RulesError, UnknownMaterial
from advisor.rulebook.load import load_rulebook
from advisor.substitution.schema import Option, SubstitutionAnswer
from helpers import makers
from helpers.counts import counted
from helpers.recipes import inline
from helpers.swap_judge import ROOT, Judge, forbidden, library, table, unlisted

GENERATED = counted(500)
EXTRAS = ["acid", "base", "chelator", "featured", "colourant", "binder", "fragrance", "structurant"]
NAMED = {pair["id"] for pair in table("pairs.toml")["pair"] if pair["refuse"] != "never"} | {
    "stated",
    "never-as-powder",
}
NAMED |= {rule["id"] for rule in table("substitution.toml")["never"]} | {"never-new", "steps-too-coarse"}
RIVER = {
    "isethionate-powder": 54,
    "kaolin": 12,
    "rice-flour": 8,
    "betaine-30": 12,
    "coco-glucoside-52": 4.5,
    "sunflower-oil": 5,
    "glycerin": 3.6,
    "phenoxyethanol-blend": 0.9,
}
LOT = {
    "key": "isethionate-lot-7",
    "name": "Sodium cocoyl isethionate, lot 7",
    "form": "powder",
    "roles": ["primary_surfactant"],
    "charge": "anionic",
    "composition": {"Sodium Cocoyl Isethionate": 78, "Coconut Acid": 15, "Sodium Isethionate": 5, "Aqua": 2},
    "active": 78,
    "uptake": 0.31,
    "price_per_kg": 13,
}


def swap(percents: dict[str, float], missing: str, **besides: Any) -> dict[str, Any]:
    lines = [{"material": key, "percent": percent} for key, percent in percents.items()]
    return {"recipe": {"name": "bar", "lines": lines}, "missing": missing, **besides}


def amounts_of(option: Option) -> dict[str, float]:
    return {line.material: line.percent for line in option.recipe.lines}


def told(option: Option) -> dict[str, str]:
    return {shift.what: shift.direction for shift in option.shifts}


def generated(seed: int) -> dict[str, Any]:
    """Return a request over the whole library; the recipe itself holds no forbidden pair."""
    rng = random.Random(seed)
    percents = {line["material"]: line["percent"] for line in makers.recipe(seed)["lines"]}
    blocks = library()
    for role in rng.sample(EXTRAS, rng.randint(1, 3)):
        fitting = [
            key
            for key, block in blocks.items()
            if block["roles"][0] == role
            and key not in percents
            and not any(forbidden(block, blocks[other]) for other in percents)
        ]
        if not fitting:
            continue
        key = rng.choice(sorted(fitting))
        use = blocks[key]["use"]
        amount = round(rng.uniform(max(use["min"], 0.05), min(use["max"], use["min"] + 2)), 2)
        largest = max(percents, key=lambda one: percents[one])
        percents[key] = amount
        percents[largest] = round(percents[largest] - amount, 2)
    lines = [{"material": key, "percent": percent} for key, percent in percents.items()]
    missing = rng.choice(sorted(percents))
    body: dict[str, Any] = {"recipe": {"name": "generated", "lines": lines}, "missing": missing}
    if rng.random() < 0.5:
        role = blocks[missing]["roles"][0]
        group = [key for key, block in blocks.items() if role in block["roles"] and key != missing]
        anything = [key for key in blocks if key != missing]
        body["replacements"] = sorted({*rng.sample(group, min(3, len(group))), rng.choice(anything)})
    if rng.random() < 0.7:
        body["shelf"] = sorted({"water", *rng.sample(sorted(blocks), rng.randint(0, 2))} - {missing})
    wishes: dict[str, Any] = {"market": rng.choice(["eu", "uk", "us", "jp", "ca", "none"])}
    if rng.random() < 0.2:
        wishes["fixed"] = rng.sample(sorted(set(percents) - {missing}), 1)
    body["wishes"] = wishes
    return body


def judged(body: dict[str, Any]) -> Judge:
    percents = {line["material"]: line["percent"] for line in body["recipe"]["lines"]}
    inline = {block["key"]: block for block in body.get("materials", [])}
    return Judge(percents, body["missing"], body.get("shelf", ()), body.get("wishes", {}), inline)


def keys_of(option: Option) -> list[str]:
    return [option.replacement] if isinstance(option.replacement, str) else list(option.replacement)


def faults(body: dict[str, Any], answer: SubstitutionAnswer) -> Iterator[str]:
    """Name what an answer says that an independent reckoning contradicts."""
    judge = judged(body)
    for option in answer.options:
        amounts = {line.material: line.percent for line in option.recipe.lines}
        if sum(round(percent * 10_000) for percent in amounts.values()) != 1_000_000:
            yield f"{option.replacement}: adds up to {sum(amounts.values())}"
        if body["missing"] in amounts:
            yield f"{option.replacement}: {body['missing']} is still there"
        for fault in judge.broken(amounts, keys_of(option)):
            yield f"{option.replacement}: {fault}"
        for check in option.checks:
            if not check.ok and check.kind != "advice":
                yield f"{option.replacement}: {check.name} is {check.value}"
        if not all(change.why for change in option.changes):
            yield f"{option.replacement}: a change without a reason"
    for one in answer.rejected:
        if one.rule in NAMED:
            continue
        if one.rule.startswith("law-unlisted-"):
            if not unlisted(judge.of(one.replacement), body["wishes"]["market"]):
                yield f"{one.replacement}: every preservative of it is listed"
        elif one.rule != "no-recipe-fits":
            yield f"{one.replacement}: unknown rule {one.rule}"
        elif judge.possible([one.replacement]):
            yield f"{one.replacement}: scipy finds a recipe"


@pytest.mark.slow
@pytest.mark.parametrize("part", range(10))
def test_generated_swaps_keep_what_a_recipe_must_keep(part: int) -> None:
    wrong, answered = [], 0
    for seed in range(part, GENERATED, 10):
        body = generated(seed)
        try:
            answer = substitute(body)
        except NoRecipeFits:
            continue
        answered += 1
        wrong += [f"{seed}: {fault}" for fault in faults(body, answer)]
    assert not wrong
    assert answered > GENERATED / 10 * 0.85


def test_the_screen_finds_what_scipy_finds_for_named_singles() -> None:
    for seed in range(0, 200, 4):
        body = generated(seed)
        body["options_at_most"] = 100
        if "replacements" not in body:
            continue
        answer = substitute(body)
        fitting = {option.replacement for option in answer.options if isinstance(option.replacement, str)}
        turned = {one.replacement for one in answer.rejected}
        assert fitting | turned == set(body["replacements"])
        assert not fitting & turned


def test_a_stronger_glucoside_takes_two_fifths_of_the_betaine_liquid() -> None:
    """Equal active: 12 % of 30 % is 6.92 % of 52 %, 42 % less liquid; what the arithmetic of mixing gives."""
    percents = RIVER | {"betaine-30": 16.5}
    del percents["coco-glucoside-52"]
    body = swap(percents, "betaine-30", replacements=["coco-glucoside-52"], shelf=["water"])
    (option,) = substitute(body).options
    after = amounts_of(option)
    assert 1 - after["coco-glucoside-52"] / 16.5 == pytest.approx(1 - 30 / 52, abs=0.05)
    assert after["water"] == pytest.approx(16.5 - after["coco-glucoside-52"], abs=1.5)
    assert option.after.totals.active == pytest.approx(option.before.totals.active, abs=0.1)
    assert told(option)["mildness"] == "worse"
    assert told(option)["ph"] == "up"
    assert told(option)["foam"] == "less"
    assert "acid into the liquids" in next(shift.text for shift in option.shifts if shift.what == "ph")


def test_noodles_with_stearic_acid_add_a_third_more_mass() -> None:
    """84 % active to 62 %: 35 % more for the same active matter."""
    body = swap(RIVER, "isethionate-powder", replacements=["isethionate-noodles"], shelf=["water"])
    answer = substitute(body)
    (option,) = answer.options
    assert amounts_of(option)["isethionate-noodles"] / 54 == pytest.approx(84 / 62, abs=0.05)
    assert told(option)["hardness"] == "up"
    assert told(option)["fineness"] == "worse"
    assert "grinding" in {caution.id for caution in answer.cautions}


def test_another_lot_is_rebalanced_and_shown_as_it_would_be_kept() -> None:
    body = swap(RIVER, "isethionate-powder", replacements=["isethionate-lot-7"], materials=[LOT])
    answer = substitute(body)
    (option,) = answer.options
    assert option.kept is not None
    assert {line.material: line.percent for line in option.kept.recipe.lines}["isethionate-lot-7"] == 54
    assert option.kept.totals.active == pytest.approx(54 * 0.78 + 12 * 0.30 + 4.5 * 0.52, abs=0.01)
    assert option.after.totals.active == pytest.approx(option.before.totals.active, abs=0.1)
    assert told(option)["strength"] == "down"
    assert told(option)["hardness"] == "up"
    assert {"another-lot", "trial"} <= {note.id for note in answer.notes}


@pytest.mark.parametrize(
    ("percents", "missing", "replacement", "rule"),
    [
        (RIVER | {"glycerin": 3.1, "citric-acid": 0.5}, "kaolin", "chalk-ground", "acid-with-carbonate"),
        (
            RIVER | {"kaolin": 6, "green-clay": 6},
            "phenoxyethanol-blend",
            "caprylhydroxamic-blend",
            "caprylhydroxamic-with-iron",
        ),
        (RIVER, "kaolin", "talc", "never-new"),
        (RIVER, "kaolin", "sodium-sulfate", "soluble-powder-as-filler"),
        (RIVER, "kaolin", "maltodextrin", "soluble-powder-as-filler"),
    ],
)
@pytest.mark.parametrize("asked", [True, False])
def test_named_rules_reject(
    percents: dict[str, float], missing: str, replacement: str, rule: str, asked: bool
) -> None:
    named = {"replacements": [replacement]} if asked else {}
    answer = substitute(swap(percents, missing, **named))
    rejected = {one.replacement: one for one in answer.rejected}
    if not asked and missing not in ("kaolin", "phenoxyethanol-blend"):
        assert replacement not in rejected
        return
    assert rejected[replacement].rule == rule
    assert rejected[replacement].reason.endswith(".")
    assert replacement not in {key for option in answer.options for key in keys_of(option)}


@pytest.mark.parametrize("missing", ["behentrimonium-25", "behentrimonium-50"])
@pytest.mark.parametrize("active", [0.25, 0.5, 1.0, 1.5, 2.0])
def test_one_grade_of_a_conditioner_stands_in_for_the_other_beside_anionics(
    missing: str, active: float
) -> None:
    """Up to its usual most it stays under the amount from which it precipitates; it keeps its strength."""
    shares = {"behentrimonium-25": 0.25, "behentrimonium-50": 0.5}
    (other,) = shares.keys() - {missing}
    percent = round(active / shares[missing], 2)
    answer = substitute(swap(RIVER | {missing: percent, "kaolin": RIVER["kaolin"] - percent}, missing))
    (option,) = (one for one in answer.options if one.replacement == other)
    now = {line.material: line.percent for line in option.recipe.lines}
    assert now[other] * shares[other] == pytest.approx(active, rel=0.06)


@pytest.mark.parametrize(("percent", "refused"), [(5.0, False), (9.0, False), (12.0, True), (None, True)])
def test_a_conditioner_is_refused_by_what_is_usual_of_it(percent: float | None, refused: bool) -> None:
    """Its usual most times its activity of 30 %; where no range is known it could be anything."""
    composition = {"Cetrimonium Methosulfate": 30.0, "Aqua": 70.0}
    use = {"use": {"min": 0.0, "max": percent}} if percent else {}
    quat = inline("quat-30", composition, form="liquid", roles=["featured"], charge="cationic", **use)
    percents = RIVER | {"behentrimonium-25": 2.0, "kaolin": RIVER["kaolin"] - 2.0}
    body = swap(percents, "behentrimonium-25", replacements=["quat-30"])
    answer = substitute({**body, "materials": [{**quat, "active": 30.0}]})
    assert ("cationic-with-anionic" in {one.rule for one in answer.rejected}) == refused


def test_a_cationic_polymer_is_cautioned_not_refused() -> None:
    percents = RIVER | {"glycerin": 2.6, "silk-protein": 1}
    for polymer, cautioned in (("polyquaternium-7", False), ("polyquaternium-10", False)):
        answer = substitute(swap(percents, "silk-protein", replacements=[polymer]))
        assert [option.replacement for option in answer.options] == [polymer]
        told = {item.id for item in answer.cautions}
        assert ("pair:cationic-polymer-with-anionic" in told) == cautioned
        assert "featured" in {note.id for note in answer.notes}


def test_a_preservative_is_never_swapped_in_silence() -> None:
    answer = substitute(swap(RIVER, "phenoxyethanol-blend", wishes={"market": "eu"}, options_at_most=20))
    assert len(answer.options) > 3
    for option in answer.options:
        assert told(option)["preservation"] == "changed"
        block = library()[keys_of(option)[0]]
        assert amounts_of(option)[keys_of(option)[0]] >= block["use"]["min"]
    narrow = [option.ranking.preservation > 0 for option in answer.options]
    assert narrow == sorted(narrow)


def test_two_share_the_work_where_no_single_does() -> None:
    percents = {"glutamate-powder": 55, "kaolin": 15, "betaine-30": 20, "sunflower-oil": 5, "glycerin": 5}
    named = ["alaninate-powder", "glycinate-powder", "sarcosinate-powder"]
    answer = substitute(swap(percents, "glutamate-powder", replacements=named, shelf=["water"]))
    assert {one.replacement for one in answer.rejected} == set(named)
    assert answer.options
    judge = judged(swap(percents, "glutamate-powder", shelf=["water"]))
    for option in answer.options:
        assert len(keys_of(option)) == 2
        assert not judge.broken(amounts_of(option), keys_of(option))
        assert all(amounts_of(option)[key] > 0 for key in keys_of(option))
    assert "pairs" in {note.id for note in answer.notes}


def test_the_order_of_lines_replacements_shelf_and_materials_does_not_matter() -> None:
    for seed in range(12):
        body = generated(seed)
        rng = random.Random(seed)
        body["materials"] = [LOT, LOT | {"key": "isethionate-lot-8", "active": 80}]
        turned = {**body, "recipe": {**body["recipe"], "lines": body["recipe"]["lines"][:]}}
        for part in (turned["recipe"]["lines"], turned["materials"]):
            rng.shuffle(part)
        for name in ("replacements", "shelf"):
            if name in turned:
                turned[name] = rng.sample(turned[name], len(turned[name]))
        one, other = substitute(body), substitute(turned)
        assert [option.replacement for option in one.options] == [o.replacement for o in other.options]
        assert [amounts_of(option) for option in one.options] == [amounts_of(o) for o in other.options]
        assert one.rejected == other.rejected


@pytest.mark.parametrize(
    "changed",
    [
        {"recipe": swap(RIVER | {"kaolin": 11, "rice-flour": 9}, "betaine-30")["recipe"]},
        {"missing": "glycerin"},
        {"replacements": ["hydroxysultaine-42"]},
        {"shelf": ["water"]},
        {"shelf": []},
        {"wishes": {"market": "eu"}},
        {"wishes": {"active": {"min": 50, "max": 50.5}}},
        {"wishes": {"confidence": 0.7}},
        {"wishes": {"fixed": ["isethionate-powder"]}},
        {"wishes": {"lines": {"sunflower-oil": {"max": 4.5}}}},
        {"wishes": {"components": {"Glycerin": {"max": 3}}}},
        {"wishes": {"components_dried": {"Glycerin": {"max": 3.5}}}},
        {"wishes": {"aim": "lowest_cost"}},
        {"wishes": {"new_materials_at_most": 0}},
        {"materials": [{**library()["sunflower-oil"], "key": "sunflower-oil", "price_per_kg": 40.0}]},
        {
            "history": [
                {"recipe": swap(RIVER, "kaolin")["recipe"], "report": {"feel": "too_wet", "degree": "severe"}}
            ]
        },
        {"options_at_most": 1},
    ],
    ids=lambda changed: "-".join(str(part) for part in (*changed, *changed.get("wishes", ()))),
)
def test_every_field_changes_the_answer(changed: dict[str, Any]) -> None:
    plain = swap(RIVER, "betaine-30", shelf=["aloe-juice"])
    if "materials" in changed:
        changed["materials"][0].pop("evidence", None)
    before, after = substitute(plain).model_dump(), substitute({**plain, **changed}).model_dump()
    assert before != after


def test_the_lowest_cost_is_no_dearer_than_the_least_change() -> None:
    body = swap(RIVER, "betaine-30", replacements=["coco-betaine-30", "cocoamphoacetate"], shelf=["water"])
    near, cheap = substitute(body), substitute({**body, "wishes": {"aim": "lowest_cost"}})
    prices = {option.replacement: option.after.totals.price_per_kg for option in near.options}
    for option in cheap.options:
        assert option.after.totals.price_per_kg <= prices[option.replacement] + 1e-9
        assert not judged(body).broken(amounts_of(option), keys_of(option))
    shown = [option.after.totals.price_per_kg for option in cheap.options]
    assert shown == sorted(shown)


def test_wishes_for_no_new_material_leave_only_what_is_there() -> None:
    body = swap(RIVER, "betaine-30", wishes={"new_materials_at_most": 0}, options_at_most=100)
    answer = substitute(body)
    assert [option.replacement for option in answer.options] == ["coco-glucoside-52"]
    assert "new-materials" in {one.rule for one in answer.rejected}


def test_an_unpriced_replacement_is_rejected_where_the_lowest_cost_is_asked_for() -> None:
    lot = {name: value for name, value in LOT.items() if name != "price_per_kg"}
    body = swap(RIVER, "isethionate-powder", replacements=[LOT["key"]], wishes={"aim": "lowest_cost"})
    assert [one.rule for one in substitute({**body, "materials": [lot]}).rejected] == ["no-price"]
    assert substitute({**body, "materials": [LOT]}).options
    oil = {
        name: v for name, v in library()["sunflower-oil"].items() if name not in ("price_per_kg", "evidence")
    }
    with pytest.raises(InvalidRequest) as error:
        substitute({**body, "materials": [LOT, {**oil, "key": "sunflower-oil"}]})
    assert [fault.where for fault in error.value.faults] == ["/wishes/aim"]


@pytest.mark.parametrize(
    ("besides", "where"),
    [
        ({"missing": "talc"}, "/missing"),
        ({"replacements": ["coco-betaine-30", "betaine-30"]}, "/replacements/1"),
        ({"wishes": {"fixed": ["kaolin", "betaine-30"]}}, "/wishes/fixed/1"),
        ({"wishes": {"lines": {"betaine-30": {"min": 3}}}}, "/wishes/lines/betaine-30/min"),
        ({"wishes": {"lines": {"talc": {"min": 3}}}}, "/wishes/lines/talc"),
        ({"options_at_most": 0}, "/options_at_most"),
        ({"replacement": ["kaolin"]}, "/replacement"),
    ],
)
def test_wrong_requests_name_the_place(besides: dict[str, Any], where: str) -> None:
    with pytest.raises(InvalidRequest) as error:
        substitute(swap(RIVER, "betaine-30") | besides)
    assert where in [fault.where for fault in error.value.faults]


def test_an_unknown_replacement_comes_with_the_nearest_keys() -> None:
    with pytest.raises(UnknownMaterial) as error:
        substitute(swap(RIVER, "betaine-30", replacements=["coco-betain-30"]))
    assert error.value.extra["nearest_keys"][0] == "coco-betaine-30"
    assert error.value.faults[0].where == "/replacements/0"


def test_nothing_fits_answers_with_reasons_and_only_an_unlawful_rest_is_refused() -> None:
    wished = {"market": "eu", "components": {"Cocamidopropyl Betaine": {"min": 2}}}
    answer = substitute(swap(RIVER, "betaine-30", replacements=["coco-betaine-30"], wishes=wished))
    assert answer.options == ()
    assert "Cocamidopropyl Betaine" in answer.rejected[0].reason
    assert "nothing-fits" in {note.id for note in answer.notes}
    unlawful = RIVER | {"glycerin": 2.5, "phenoxyethanol-blend": 2}
    held = {"market": "eu", "fixed": ["phenoxyethanol-blend"]}
    with pytest.raises(NoRecipeFits) as error:
        substitute(swap(unlawful, "betaine-30", replacements=["coco-betaine-30"], wishes=held))
    assert "law" in {one.kind for one in error.value.extra["conflict"]}


def test_a_recipe_of_one_material_is_swapped_whole() -> None:
    answer = substitute(swap({"isethionate-powder": 100}, "isethionate-powder"))
    assert all(isinstance(option, Option) for option in answer.options)
    assert not list(faults(swap({"isethionate-powder": 100}, "isethionate-powder"), answer))


def test_errors_are_only_those_of_the_contract() -> None:
    for seed in range(1000, 1040):
        body = generated(seed)
        body["wishes"]["active"] = {"min": 90}
        try:
            substitute(body)
        except AdvisorError as error:
            assert error.code in ("no-recipe-fits", "invalid-request")


def test_points_are_explained_and_rank_the_options() -> None:
    answer = substitute(swap(RIVER, "betaine-30", shelf=["water"], options_at_most=100))
    points = [option.ranking.points for option in answer.options]
    assert points == sorted(points)
    for option in answer.options:
        ranked = option.ranking.model_dump(exclude={"points", "text"})
        assert sum(ranked.values()) == pytest.approx(option.ranking.points, abs=0.011)
        assert option.ranking.text.startswith(f"{option.ranking.points:g} points")


def test_what_is_told_of_a_sulfate_in_the_place_of_an_isethionate() -> None:
    body = swap(RIVER, "isethionate-powder", replacements=["coco-sulfate-powder"], shelf=["water"])
    (option,) = substitute(body).options
    shifts = told(option)
    assert shifts["sulfate_free"] == "worse"
    assert shifts["mildness"] == "worse"
    assert shifts["foam"] == "more"
    assert shifts["ph"] == "up"
    assert shifts["price"] == "down"
    assert shifts["label"] == shifts["safety"] == "changed"
    assert "allergens" not in shifts


def test_allergens_origin_and_ethoxylates_are_told_where_they_change() -> None:
    oil = swap(RIVER, "sunflower-oil", replacements=["sweet-almond-oil"])
    assert told(substitute(oil).options[0])["allergens"] == "more"
    back = {key.replace("sunflower-oil", "sweet-almond-oil"): v for key, v in RIVER.items()}
    option = substitute(swap(back, "sweet-almond-oil", replacements=["sunflower-oil"])).options[0]
    assert told(option)["allergens"] == "less"
    body = swap(RIVER, "betaine-30", replacements=["laureth-sulfate-27"], shelf=["water"])
    assert told(substitute(body).options[0])["ethoxylated"] == "more"
    waxed = RIVER | {"glycerin": 1.6, "candelilla-wax": 2}
    waxy = swap(waxed, "candelilla-wax", replacements=["beeswax"])
    assert told(substitute(waxy).options[0])["vegan"] == "worse"


def test_the_rules_name_what_the_library_holds() -> None:
    rules = table("substitution.toml")
    held = {name.casefold() for block in library().values() for name in block["composition"]}
    known_elsewhere = {"sodium lauroyl isethionate", "sodium cocoyl sarcosinate"}
    purposes = [purpose["components"] for purpose in rules["purpose"]]
    for names in (
        rules["foam"]["rank"],
        *(rules["hardness"][one] for one in ("hardening", "softening")),
        *purposes,
    ):
        assert {name.casefold() for name in names} <= held | known_elsewhere
    surfactants = [block for block in library().values() if "co_surfactant" in block["roles"]]
    ranked = {name.casefold() for name in rules["foam"]["rank"]}
    for block in surfactants:
        assert ranked & {name.casefold() for name in block["composition"]}
    for sentence in rules["text"].values():
        assert sentence[0].isupper() == sentence.endswith(".") or sentence.startswith("{")


@pytest.mark.parametrize(
    ("old", "new", "named"),
    [
        ('role = "filler"\nmeasured', 'role = "binder"\nmeasured', "every role"),
        ("function_at_least = 0.8\n", "", "function_at_least"),
        ('disturbance = "what moves"', 'moves = "what moves"', "disturbance"),
        ("narrow_ph = 4.0", "narrow_ph = -4.0", "narrow_ph"),
    ],
)
def test_broken_rules_are_named(old: str, new: str, named: str, tmp_path: Path) -> None:
    folder = Path(shutil.copytree(ROOT, tmp_path / "rules"))
    path = folder / "substitution.toml"
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")
    with pytest.raises(RulesError) as error:
        load_rulebook(folder)
    assert "rules/substitution.toml" in error.value.detail
    assert named in error.value.detail


def test_a_wish_for_confidence_moves_the_strength_into_the_wished_band() -> None:
    band = {"active": {"min": 51.2, "max": 54}}
    body = swap(RIVER, "betaine-30", replacements=["coco-betaine-30"], shelf=["water"])
    plain = substitute({**body, "wishes": band}).options[0]
    answer = substitute({**body, "wishes": {**band, "confidence": 0.95}})
    assert answer.options[0].after.totals.active > plain.after.totals.active + 0.3
    assert "confidence" in {note.id for note in answer.notes}


def test_a_shelf_material_that_some_rule_turns_away_is_left_out_and_named() -> None:
    answer = substitute(swap(RIVER, "betaine-30", shelf=["talc", "behentrimonium-25", "water"]))
    assert "never-new" in {note.id for note in answer.notes}
    for option in answer.options:
        assert not {"talc", "behentrimonium-25"} & amounts_of(option).keys()


@pytest.mark.parametrize("batch", [777.0, 1000.0, 1680.0])
@pytest.mark.parametrize("left", [13.0, 50.0, 61.7])
def test_what_is_left_in_grams_of_any_batch_is_used_up_to_a_step(batch: float, left: float) -> None:
    parts = {"isethionate-powder": 50, "kaolin": 12, "corn-starch": 9, "betaine-30": 25, "glycerin": 3}
    lines = [{"material": key, "percent": share} for key, share in parts.items()]
    lines.append({"material": "phenoxyethanol-blend", "percent": 1})
    asked = {"recipe": {"lines": lines}, "missing": "kaolin", "left_grams": left, "batch_grams": batch}
    [best, *_] = substitute(asked).options
    [kept] = [line.percent for line in best.recipe.lines if line.material == "kaolin"]
    assert kept <= 100 * left / batch < kept + 0.01
