"""Ingredient lists: order and names by law, allergens at their threshold, and what must never be listed.

Order and the 1 % rule: Reg. (EC) 1223/2009 Art. 19(1)(g) and 21 CFR 701.3. Fragrance allergens: Reg. (EU)
2023/1545, named above 0.01 % in products that are rinsed off. Formaldehyde: Reg. (EU) 2022/1181, above 0.001 %.
"""

from typing import Any

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from advisor import assess, label
from advisor.errors import InvalidRequest, UnknownMaterial
from advisor.labelling.declared import is_natural
from advisor.labelling.schema import LabelAnswer
from advisor.recipe.notebook import ShopFacts, unwritten_notebook
from advisor.rulebook.load import load_rulebook

LIBRARY = load_rulebook().ingredients


def inline(key: str, composition: dict[str, float], **besides: Any) -> dict[str, Any]:
    return {
        "key": key,
        "name": key,
        "form": "powder",
        "roles": ["filler"],
        "composition": composition,
        **besides,
    }


def labelled(parts: dict[str, float], market: str = "eu", **besides: Any) -> LabelAnswer:
    lines = [{"material": key, "percent": percent} for key, percent in parts.items()]
    return label({"recipe": {"lines": lines}, "market": market, **besides})


def remarks(answer: LabelAnswer) -> dict[str, str]:
    return {remark.id: remark.text for remark in answer.remarks}


def test_water_inside_a_liquid_surfactant_counts_when_it_is_added() -> None:
    # 40 % of a betaine with 64 % water is 25.6 % water before 20 % clay, though the bar dries.
    answer = labelled({"isethionate-powder": 40, "betaine-30": 40, "kaolin": 20})
    assert answer.ingredients == ("Sodium Cocoyl Isethionate", "Aqua", "Kaolin", "Cocamidopropyl Betaine")


def test_water_of_all_materials_is_one_ingredient() -> None:
    answer = labelled({"isethionate-powder": 70, "betaine-30": 15, "coco-glucoside-52": 10, "water": 5})
    water = next(one for one in answer.listed if one.name == "Aqua")
    assert water.percent == pytest.approx(0.64 * 15 + 0.477 * 10 + 5)
    assert answer.ingredients.count("Aqua") == 1


def test_water_of_an_undeclared_carrier_counts_and_traces_do_not() -> None:
    wet = inline("wet", {"Aqua": 70, "Coco-Betaine": 30}, form="liquid", declared=["Coco-Betaine"])
    answer = labelled({"wet": 30, "glycerin": 70}, materials=[wet])
    assert answer.ingredients == ("Glycerin", "Aqua", "Coco-Betaine")
    assert "Aqua" not in labelled({"glycerin": 100}).ingredients


@pytest.mark.parametrize("market", ["eu", "uk", "us", "ca", "jp", "none"])
def test_by_products_of_a_glucoside_or_betaine_are_never_listed(market: str) -> None:
    answer = labelled({"isethionate-powder": 50, "betaine-30": 30, "decyl-glucoside-52": 20}, market)
    for by_product in ("Sodium Hydroxide", "Sodium Chloride", "Decyl Alcohol", "Sodium Isethionate"):
        assert by_product not in answer.ingredients


def test_what_is_added_on_purpose_is_listed() -> None:
    answer = labelled({"kaolin": 90, "sodium-chloride": 9, "lye-10": 1})
    assert {"Sodium Chloride", "Sodium Hydroxide"} <= set(answer.ingredients)


def test_without_a_declaration_the_composition_stands_and_it_is_said() -> None:
    bought = inline("bought", {"Coco-Betaine": 30, "Sodium Chloride": 7, "Aqua": 63}, form="liquid")
    answer = labelled({"kaolin": 60, "bought": 40}, materials=[bought])
    assert "Sodium Chloride" in answer.ingredients
    assert "bought" in remarks(answer)["composition"]
    assert "composition" not in remarks(labelled({"kaolin": 100}))


@pytest.mark.parametrize(
    ("market", "percent", "free"),
    [("eu", 1.0, False), ("uk", 1.0, False), ("us", 1.0, True), ("eu", 0.9999, True), ("us", 1.0001, False)],
)
def test_exactly_one_percent_is_free_in_the_united_states_only(
    market: str, percent: float, free: bool
) -> None:
    answer = labelled({"kaolin": 100 - percent, "castor-oil": percent}, market)
    assert answer.free_order_from == (1 if free else None)
    assert ("free" in remarks(answer)) == free


def test_colourants_come_last_whatever_they_weigh() -> None:
    answer = labelled({"kaolin": 80, "titanium-dioxide": 15, "glycerin": 4.5, "citric-acid": 0.5})
    assert answer.ingredients[-1] == "CI 77891"
    assert answer.ingredients[-2] == "Silica"
    american = labelled({"kaolin": 80, "titanium-dioxide": 15, "glycerin": 4.5, "citric-acid": 0.5}, "us")
    assert american.ingredients[-1] == "Titanium Dioxide"


def test_markets_have_names_of_their_own() -> None:
    parts = {"kaolin": 50, "water": 30, "corn-starch": 18, "fragrance-oil": 2}
    assert labelled(parts).ingredients == ("Kaolin", "Aqua", "Zea Mays Starch", "Parfum")
    american = labelled(parts, "us").ingredients
    assert american == ("Kaolin", "Water", "Zea Mays (Corn) Starch", "Fragrance")
    assert "names" in remarks(labelled(parts, "jp"))
    assert "names" not in remarks(labelled(parts, "uk"))


def scent(share: float, **besides: Any) -> dict[str, Any]:
    composition = {"Parfum": 100 - share, "Linalool": share}
    return inline("scent", composition, form="liquid", roles=["fragrance"], **besides)


@pytest.mark.parametrize(("percent", "named"), [(0.99, False), (1.0, False), (1.0001, True), (1.5, True)])
def test_an_allergen_is_named_above_a_hundredth_of_a_percent(percent: float, named: bool) -> None:
    # 1 % of a fragrance with 1 % linalool is exactly 0.01 %: not above.
    answer = labelled({"kaolin": 100 - percent, "scent": percent}, materials=[scent(1.0)])
    assert ("Linalool" in answer.ingredients) == named
    assert ("Linalool" in answer.allergens) == named
    assert "Parfum" in answer.ingredients
    assert "sheet" not in remarks(answer)


@pytest.mark.parametrize("market", ["eu", "uk", "ca", "us", "jp"])
def test_allergens_are_named_where_a_rule_asks_for_it_and_else_told_to_the_maker(market: str) -> None:
    answer = labelled({"kaolin": 98.0, "scent": 2.0}, market, materials=[scent(1.0)])
    ruled = market in ("eu", "uk", "ca")
    assert answer.allergens == (("Linalool",) if ruled else ())
    assert ("Linalool" in answer.ingredients) == ruled
    assert ("no-rule" in remarks(answer)) == (not ruled)


GREAT_BRITAIN = [
    "alpha-isomethyl ionone",
    "amyl cinnamal",
    "amylcinnamyl alcohol",
    "anise alcohol",
    "benzyl alcohol",
    "benzyl benzoate",
    "benzyl cinnamate",
    "benzyl salicylate",
    "butylphenyl methylpropional",
    "cinnamal",
    "cinnamyl alcohol",
    "citral",
    "citronellol",
    "coumarin",
    "eugenol",
    "evernia furfuracea extract",
    "evernia prunastri extract",
    "farnesol",
    "geraniol",
    "hexyl cinnamal",
    "hydroxycitronellal",
    "hydroxyisohexyl 3-cyclohexene carboxaldehyde",
    "isoeugenol",
    "limonene",
    "linalool",
    "methyl 2-octynoate",
]


def test_great_britain_names_twenty_six_allergens_and_the_union_all_of_its_list() -> None:
    rules = load_rulebook().label
    named = dict[str, set[str]]()
    for entry in sorted(set(rules.listed.values())):
        bottle = inline("scent", {"Parfum": 90, entry: 10}, form="liquid", roles=["fragrance"])
        for market in ("eu", "uk"):
            answer = labelled({"kaolin": 98.0, "scent": 2.0}, market, materials=[bottle])
            assert set(answer.allergens) <= set(answer.ingredients)
            named.setdefault(market, set()).update(answer.allergens)
            if not is_natural(entry) and not answer.allergens:
                assert answer.ingredients == ("Kaolin", "Parfum"), (market, entry)
    assert {name.casefold() for name in named["uk"]} == set(GREAT_BRITAIN)
    assert len(GREAT_BRITAIN) == 26
    assert named["eu"] == set(rules.allergens.names)
    assert len(named["eu"]) > 80


@pytest.mark.parametrize(
    ("market", "needed"),
    [
        (
            "eu",
            ["responsible person", "nominal content", "minimum durability", "precautions", "batch number"],
        ),
        ("us", ["statement of identity", "place of business", "net quantity", "adverse events", "warnings"]),
        ("ca", ["English and French", "place of business", "net quantity", "avoidable hazards"]),
        ("jp", ["marketing authorisation", "lot number", "three years"]),
    ],
)
def test_a_label_needs_more_than_its_list(market: str, needed: list[str]) -> None:
    told = "; ".join(labelled({"kaolin": 100}, market).also)
    assert all(words in told for words in needed)


def test_an_allergen_is_summed_over_all_materials() -> None:
    second = {**scent(1.0), "key": "second", "name": "second"}
    parts = {"kaolin": 98.8, "scent": 0.6, "second": 0.6}
    assert "Linalool" in labelled(parts, materials=[scent(1.0), second]).allergens


def test_the_sheet_may_stand_in_the_allergen_texts() -> None:
    plain = inline("scent", {"Parfum": 100}, form="liquid", roles=["fragrance"])
    sheet = {**plain, "allergens": ["linalool 12.5 %", "Limonene: 0.2%"]}
    answer = labelled({"kaolin": 99, "scent": 1}, materials=[sheet])
    assert answer.allergens == ("Linalool",)
    assert "sheet" not in remarks(answer)


@pytest.mark.parametrize("key", ["fragrance-oil", "lavender-oil"])
def test_without_its_sheet_a_scent_is_not_ready_for_sale(key: str) -> None:
    answer = labelled({"kaolin": 99, key: 1})
    assert "unknown, not ready for sale" in remarks(answer)["sheet"]
    assert "none" not in remarks(answer)["sheet"]


def test_benzyl_alcohol_is_an_ingredient_once() -> None:
    answer = labelled({"kaolin": 99, "benzyl-alcohol-blend": 1})
    assert answer.ingredients.count("Benzyl Alcohol") == 1
    assert "Benzyl Alcohol" in answer.allergens


@pytest.mark.parametrize(
    ("percent", "market", "told"),
    [(0.5, "eu", True), (0.5, "us", False), (0.0018, "eu", False), (0.0019, "eu", True)],
)
def test_releasers_of_formaldehyde_are_said(percent: float, market: str, told: bool) -> None:
    # 55 % DMDM hydantoin: 0.0018 % of it holds 0.00099 %, 0.0019 % holds 0.00105 %.
    answer = labelled({"kaolin": 100 - percent, "dmdm-hydantoin-55": percent}, market)
    assert ("formaldehyde" in remarks(answer)) == told


def test_known_allergens_are_said_to_the_maker_where_no_law_orders_it() -> None:
    answer = labelled({"kaolin": 60, "sweet-almond-oil": 5, "milk-powder": 5, "oat-flour": 30})
    assert {"maker-nuts", "maker-milk", "maker-gluten"} <= set(remarks(answer))
    assert not any(key.startswith("maker-") for key in remarks(labelled({"kaolin": 90, "glycerin": 10})))
    assert "maker-nuts" not in remarks(labelled({"kaolin": 90, "coconut-oil": 10}))


def test_an_ingredient_list_is_not_yet_a_label() -> None:
    assert "responsible person" in remarks(labelled({"kaolin": 100}))["also"]


def test_no_market_follows_the_european_way_and_says_so() -> None:
    answer = labelled({"kaolin": 50, "water": 50}, "none")
    assert "Aqua" in answer.ingredients
    assert "market" in remarks(answer)
    assert "no-law-checked" in [caution.id for caution in answer.cautions]
    assert "law-in-force" in [caution.id for caution in labelled({"kaolin": 100}).cautions]


def test_the_previous_list_tells_what_moved_came_and_went() -> None:
    before = ["Sodium Cocoyl Isethionate", "Kaolin", "Water", "Citric Acid"]
    answer = labelled({"isethionate-powder": 40, "betaine-30": 40, "kaolin": 20}, previous=before)
    assert answer.order_changed_from is not None
    assert answer.order_changed_from.moved in (("Kaolin",), ("Aqua",))
    assert answer.order_changed_from.added == ("Cocamidopropyl Betaine",)
    assert answer.order_changed_from.dropped == ("Citric Acid",)


def test_the_previous_label_may_be_a_recipe() -> None:
    parts = {"isethionate-powder": 50, "kaolin": 20, "rice-flour": 30}
    earlier = {"lines": [{"material": key, "percent": percent} for key, percent in parts.items()]}
    same = labelled(parts, previous=earlier).order_changed_from
    assert same is not None
    assert (same.moved, same.added, same.dropped) == ((), (), ())
    turned = labelled({"isethionate-powder": 50, "kaolin": 30, "rice-flour": 20}, previous=earlier)
    assert turned.order_changed_from is not None
    assert len(turned.order_changed_from.moved) == 1


def test_names_in_free_order_do_not_move_among_themselves() -> None:
    parts = {"kaolin": 98.6, "glycerin": 0.8, "castor-oil": 0.6}
    turned = ["Kaolin", "Ricinus Communis Seed Oil", "Glycerin"]
    answer = labelled(parts, previous=turned)
    assert answer.order_changed_from is not None
    assert answer.order_changed_from.moved == ()


def test_a_declared_name_without_an_amount_is_said() -> None:
    odd = inline("odd", {"Kaolin": 100}, declared=["Kaolin", "Mystery Extract"])
    answer = labelled({"odd": 100}, materials=[odd])
    assert answer.ingredients[-1] == "Mystery Extract"
    assert "Mystery Extract" in remarks(answer)["amount"]


def test_brackets_and_case_do_not_make_another_ingredient() -> None:
    one = inline("one", {"Avena Sativa (Oat) Kernel Flour": 100})
    two = inline("two", {"AVENA SATIVA KERNEL FLOUR": 100})
    assert len(labelled({"one": 50, "two": 50}, materials=[one, two]).ingredients) == 1


def test_requests_that_cannot_be_answered_name_their_place() -> None:
    with pytest.raises(InvalidRequest):
        label({"recipe": {"lines": [{"material": "kaolin", "percent": 100}]}})
    with pytest.raises(UnknownMaterial):
        labelled({"kaolin": 99, "no-such-thing": 1})
    with pytest.raises(UnknownMaterial) as caught:
        earlier = {"lines": [{"material": "no-such-thing", "percent": 100}]}
        labelled({"kaolin": 100}, previous=earlier)
    assert caught.value.faults[0].where == "/previous/lines/0/material"


RECIPES = st.dictionaries(st.sampled_from(sorted(LIBRARY)), st.integers(1, 4000), min_size=1, max_size=14)


def grams(parts: dict[str, int], market: str, reverse: bool = False) -> LabelAnswer:
    lines = [{"material": key, "grams": amount / 10} for key, amount in parts.items()]
    return label({"recipe": {"lines": lines[::-1] if reverse else lines}, "market": market})


@example({"menthol": 1}, "us")
@given(RECIPES, st.sampled_from(["eu", "us"]))
def test_the_order_is_that_of_an_independent_sort(parts: dict[str, int], market: str) -> None:
    answer = grams(parts, market)
    whole = sum(parts.values())
    water = "Aqua" if market == "eu" else "Water"
    sums: dict[str, float] = {}
    for key, amount in parts.items():
        material = LIBRARY[key].material
        declared = material.declared
        assert isinstance(declared, dict)
        for european, shown in zip(declared["eu"], declared[market], strict=True):
            name = water if european == "Aqua" else shown
            sums[name] = sums.get(name, 0.0) + material.composition[european] * amount / whole
    listed = {one.name: one.percent for one in answer.listed}
    grouped, groups = set(sums) - set(listed), set(listed) - set(sums)
    if grouped:
        assert market == "eu" and all(name.endswith("Oil") for name in grouped)
        assert sum(listed[name] for name in groups) >= sum(sums[name] for name in grouped) - 2e-3
    for name in sums.keys() - grouped:
        assert listed[name] == pytest.approx(sums[name], abs=2e-3)
    plain = [one.percent for one in answer.listed if not one.colourant]
    assert plain == sorted(plain, reverse=True)
    last = [one.colourant for one in answer.listed]
    assert last == sorted(last)
    if answer.free_order_from is not None:
        assert all(one.free for one in answer.listed[answer.free_order_from :])
        assert not any(one.free for one in answer.listed[: answer.free_order_from])


@given(RECIPES)
def test_the_order_of_lines_does_not_matter(parts: dict[str, int]) -> None:
    assert grams(parts, "eu") == grams(parts, "eu", reverse=True)


def test_members_of_a_group_of_allergens_stand_under_the_name_of_the_annex() -> None:
    oils = [
        {"key": key, "name": name, "form": "liquid", "roles": ["fragrance"], "composition": {name: 100}}
        for key, name in (("one", "Lavandula Angustifolia Oil"), ("two", "Lavandula Hybrida Oil"))
    ]
    lines = [{"material": key, "percent": of} for key, of in (("kaolin", 99.6), ("one", 0.2), ("two", 0.2))]
    named = label({"recipe": {"lines": lines}, "market": "eu", "materials": oils})
    assert named.ingredients == ("Kaolin", "Lavandula Oil/Extract")
    assert named.allergens == ("Lavandula Oil/Extract",)
    lines[0]["percent"], lines[1]["percent"], lines[2]["percent"] = 99.99, 0.005, 0.005
    below = label({"recipe": {"lines": lines}, "market": "eu", "materials": oils})
    assert "Lavandula Oil/Extract" not in below.ingredients


@pytest.mark.parametrize("grain", ["Secale Cereale Seed Flour", "Triticum Spelta Seed Flour", "Kamut Flour"])
def test_every_cereal_with_gluten_is_told(grain: str) -> None:
    flour = {
        "key": "own",
        "name": "Own flour",
        "form": "powder",
        "roles": ["filler"],
        "composition": {grain: 100},
    }
    lines = [{"material": "own", "percent": 30}, {"material": "kaolin", "percent": 70}]
    answer = label({"recipe": {"lines": lines}, "market": "eu", "materials": [flour]})
    assert "maker-gluten" in [remark.id for remark in answer.remarks]


TOLD = {
    "batch": "H-41",
    "net_grams": 85.0,
    "best_before": "2028-06-30",
    "opened_months": 12,
    "responsible": "Heron Works, 3 Mill Lane",
    "contact": "heron@example.org",
    "purpose": "Cleansing bar",
    "precautions": "Keep out of the eyes.",
}


@pytest.mark.parametrize("market", ["eu", "uk", "us", "ca", "jp", "none"])
def test_what_is_told_of_a_batch_fills_the_label(market: str) -> None:
    body = {"recipe": {"lines": [{"material": "kaolin", "percent": 100}]}, "market": market}
    bare = label(body)
    assert [one.asks for one in bare.filled] == list(bare.also)
    assert all(one.says is None for one in bare.filled)
    whole = label({**body, "particulars": TOLD})
    assert all(one.says for one in whole.filled)
    counted = {
        field for field in TOLD if label({**body, "particulars": {field: TOLD[field]}}).filled != bare.filled
    }
    assert counted >= {"net_grams", "responsible", "precautions"} - (
        {"precautions"} if market == "jp" else set()
    )


def test_the_label_names_weight_batch_date_and_who_answers_for_it() -> None:
    body = {
        "recipe": {"lines": [{"material": "kaolin", "percent": 100}]},
        "market": "eu",
        "particulars": TOLD,
    }
    says = {one.id: one.says for one in label(body).filled}
    assert says["content"] == "85 g" and says["batch"] == "Batch H-41"
    assert says["durability"] == "Best used before the end of 06/2028"
    assert says["responsible-person"] == TOLD["responsible"]
    opened = {"opened_months": 12, "batch": "{net_grams}"}
    says = {one.id: one.says for one in label({**body, "particulars": opened}).filled}
    assert (says["durability"], says["batch"], says["content"]) == (
        "12 M after opening",
        "Batch {net_grams}",
        None,
    )


PHENOXYETHANOL = inline("guard", {"Phenoxyethanol": 90, "Aqua": 10}, form="liquid", roles=["preservative"])
SALICYLIC = inline("willow", {"Salicylic Acid": 100}, roles=["featured"])


@pytest.mark.parametrize(
    ("guard", "willow", "told"),
    [
        (0.5, 0.3, []),
        (1.0, 0.3, ["law:phenoxyethanol:as_dried"]),  # 0.9 % as made, above 1 % once water has left
        (2.0, 0.3, ["law:phenoxyethanol:as_dried"]),  # passed as made too, and further once dried
        (2.0, 9.0, ["law:salicylic acid:as_dried", "law:phenoxyethanol:as_dried"]),
    ],
)
def test_a_limit_that_is_passed_stands_on_the_label_once_worst_first_in_the_words_of_an_assessment(
    guard: float, willow: float, told: list[str]
) -> None:
    parts = {"isethionate-powder": 60 - guard - willow, "betaine-30": 40, "guard": guard, "willow": willow}
    answer = labelled(parts, materials=[PHENOXYETHANOL, SALICYLIC])
    said = [remark for remark in answer.remarks if remark.id.startswith("law:")]
    assert [remark.id for remark in said] == told
    lines = [{"material": key, "percent": percent} for key, percent in parts.items()]
    asked = {"recipe": {"lines": lines}, "materials": [PHENOXYETHANOL, SALICYLIC], "wishes": {"market": "eu"}}
    found = {finding.id: finding.text for finding in assess(asked).findings}
    assert [found[remark.id] for remark in said] == [remark.text for remark in said]
    alone = labelled(parts, "none", materials=[PHENOXYETHANOL, SALICYLIC])
    assert not [remark for remark in alone.remarks if remark.id.startswith("law:")]


def test_a_duty_names_its_own_act() -> None:
    told = remarks(labelled({"isethionate-powder": 70, "betaine-30": 30}))
    for duty, act in [
        ("duty-responsible-person", "Regulation (EC) 1223/2009, Article 4"),
        ("duty-safety-report", "Regulation (EC) 1223/2009, Article 10 and Annex I"),
        ("duty-polymers", "Regulation (EU) 2023/2055"),
        ("duty-cyclic-siloxanes", "Regulation (EU) 2024/1328"),
        ("law-announced-green-claims", "Directive (EU) 2024/825"),
    ]:
        assert f"({act}" in told[duty] and "export" not in told[duty]
    assert "siloxanes" not in told["duty-polymers"]


def test_the_shop_says_who_answers_where_nobody_says_it_of_this_label() -> None:
    lines = [{"material": "betaine-30", "percent": 30}, {"material": "isethionate-powder", "percent": 70}]
    asked = {"recipe": {"lines": lines}, "market": "us"}
    rules = load_rulebook()
    shop = unwritten_notebook(rules, ShopFacts("Weir Works, 1 Lane", contact="weir@example.org"))
    for told, says in (({}, "Weir Works, 1 Lane"), ({"responsible": "Another"}, "Another")):
        filled = label({**asked, "particulars": told}, notebook=shop).filled
        by_id = {one.id: one.says for one in filled}
        assert (by_id["us-business"], by_id["us-contact"]) == (says, "weir@example.org")
    assert unwritten_notebook(rules, ShopFacts()) is None
