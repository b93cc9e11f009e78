"""Every published limit as a boundary: just under passes, just over fails, as made and as dried.

Figures: EU Reg. (EC) 1223/2009 Annex V in the Commission's export of 31 October 2025; Japan, Notification
331 of 2000; Canada, Cosmetic Ingredient Hotlist 2025. Molar masses: benzoic acid 122.12, its sodium salt
144.11; sorbic acid 112.13, its potassium salt 150.22; dehydroacetic acid 168.15, its sodium salt 190.13;
salicylic acid 138.12, its sodium salt 160.10.
"""

import re
from typing import Any

import pytest

from advisor import assess, correct, label, substitute, weigh
from advisor.errors import NoRecipeFits
from advisor.labelling.notes import legal_notes
from advisor.rulebook.law import conditions_met
from advisor.rulebook.load import load_rulebook
from advisor.rulebook.substances import as_acid
from advisor.schema.findings import TextItem
from advisor.schema.material import Material

EU = [
    ("Benzoic Acid", 2.5),
    ("Sodium Benzoate", 2.5 * 144.11 / 122.12),
    ("Potassium Benzoate", 0.5 * 160.21 / 122.12),
    ("Methyl Benzoate", 0.5 * 136.15 / 122.12),
    ("Propionic Acid", 2.0),
    ("Calcium Propionate", 2.0 * 186.22 / (2 * 74.08)),
    ("Salicylic Acid", 0.5),
    ("Sodium Salicylate", 0.5 * 160.10 / 138.12),
    ("Sorbic Acid", 0.6),
    ("Potassium Sorbate", 0.6 * 150.22 / 112.13),
    ("Methylparaben", 0.4 * 152.15 / 138.12),
    ("Ethylparaben", 0.4 * 166.18 / 138.12),
    ("Propylparaben", 0.14 * 180.20 / 138.12),
    ("Butylparaben", 0.14 * 194.23 / 138.12),
    ("Dehydroacetic Acid", 0.6),
    ("Sodium Dehydroacetate", 0.6 * 190.13 / 168.15),
    ("Formic Acid", 0.5),
    ("Sodium Formate", 0.5 * 68.01 / 46.03),
    ("Undecylenic Acid", 0.2),
    ("Imidazolidinyl Urea", 0.6),
    ("Phenoxyethanol", 1.0),
    ("DMDM Hydantoin", 0.6),
    ("Benzyl Alcohol", 1.0),
    ("Piroctone Olamine", 1.0),
    ("o-Cymen-5-ol", 0.1),
    ("Phenoxyisopropanol", 1.0),
    ("Diazolidinyl Urea", 0.5),
    ("Chlorphenesin", 0.3),
    ("Sodium Hydroxymethylglycinate", 0.5),
    ("Benzalkonium Chloride", 0.1),
    ("Iodopropynyl Butylcarbamate", 0.02),
    ("Methylisothiazolinone", 0.0015),
    ("Ethyl Lauroyl Arginate HCl", 0.4),
    ("Hydroxyethoxyphenyl Butanone", 0.7),
    ("Peanut Protein", 0.00005),
]
JAPAN = [
    ("Benzoic Acid", 0.2),
    ("Sodium Benzoate", 1.0),
    ("Salicylic Acid", 0.2),
    ("Sodium Salicylate", 1.0),
    ("Sorbic Acid", 0.5),
    ("Potassium Sorbate", 0.5),
    ("Dehydroacetic Acid", 0.5),
    ("Sodium Dehydroacetate", 0.5),
    ("Methylparaben", 1.0),
    ("Phenoxyethanol", 1.0),
    ("DMDM Hydantoin", 0.3),
    ("Imidazolidinyl Urea", 0.3),
    ("Chlorphenesin", 0.3),
    ("Iodopropynyl Butylcarbamate", 0.02),
    ("Methylisothiazolinone", 0.01),
]
CANADA = [
    ("Methylisothiazolinone", 0.0015),
    ("Methylchloroisothiazolinone", 0.0015),
    ("Salicylic Acid", 2.0),
    ("Lactic Acid", 18.0),
]
ROWS = [
    *(("eu", *row) for row in EU),
    *(("uk", *row) for row in EU),
    *(("jp", *row) for row in JAPAN),
    *(("ca", *row) for row in CANADA),
]


def powder(key: str, composition: dict[str, float]) -> dict[str, Any]:
    return {
        "key": key,
        "name": key,
        "form": "powder",
        "roles": ["preservative"] if key == "mix" else ["filler"],
        "composition": composition,
        "water": 0,
    }


def law_checks(market: str, parts: dict[str, float], water: float = 0.0) -> list[dict[str, Any]]:
    """Assess a recipe of dry powder holding ``parts`` [% of the recipe], with free water."""
    carried = 40.0
    composition = {name: 100 * percent / carried for name, percent in parts.items()}
    composition["Stone"] = 100 - sum(composition.values())
    lines = [{"material": "mix", "percent": carried}, {"material": "stone", "percent": 100 - carried - water}]
    materials = [powder("mix", composition), powder("stone", {"Stone": 100})]
    if water:
        lines.append({"material": "water", "percent": water})
    answer = assess({"recipe": {"lines": lines}, "materials": materials, "wishes": {"market": market}})
    return [check.model_dump() for check in answer.checks if check.kind == "law"]


def of_state(checks: list[dict[str, Any]], state: str) -> list[dict[str, Any]]:
    return [check for check in checks if check["state"] == state]


@pytest.mark.parametrize(("market", "component", "highest"), ROWS)
def test_just_under_passes_and_just_over_fails_as_made(market: str, component: str, highest: float) -> None:
    under = of_state(law_checks(market, {component: highest * 0.997}), "as_made")
    over = of_state(law_checks(market, {component: highest * 1.003}), "as_made")
    assert under
    assert all(check["ok"] for check in under)
    assert not all(check["ok"] for check in over)
    assert all(check["source"] and (market == "uk" or check["basis"] == "published") for check in under)


@pytest.mark.parametrize(("market", "component", "highest"), ROWS)
def test_as_dried_tells_pass_depends_and_over(market: str, component: str, highest: float) -> None:
    # 20 % free water, of which 60 to 90 % leaves: 100 g of dough become 88 to 82 g.
    # x % as made is x / 0.88 to x / 0.82 % of the dried bar, so
    # 0.8195 of the limit passes at both ends, 0.85 only at the damp end, 0.89 at neither.
    for share, verdict in ((0.8195, "pass"), (0.85, "depends"), (0.89, "over")):
        checks = law_checks(market, {component: highest * share}, water=20.0)
        verdicts = {check["verdict"] for check in of_state(checks, "as_dried")}
        assert verdict in verdicts, (share, verdicts)
        assert all(check["ok"] == (check["verdict"] == "pass") for check in of_state(checks, "as_dried"))
        assert all(check["ok"] for check in of_state(checks, "as_made"))


@pytest.mark.parametrize("market", ["eu", "uk"])
def test_parabens_have_a_sum_of_their_own(market: str) -> None:
    # 0.4 % each of two parabens, as acid, is 0.8 %; the third takes the sum over it.
    two = {"Methylparaben": 0.3999 * 152.15 / 138.12, "Ethylparaben": 0.3999 * 166.18 / 138.12}
    three = two | {"Propylparaben": 0.001 * 180.20 / 138.12}
    assert all(check["ok"] for check in of_state(law_checks(market, two), "as_made"))
    failing = [check for check in of_state(law_checks(market, three), "as_made") if not check["ok"]]
    assert [check["name"] for check in failing] == ["parabens, all together"]


def test_propylparaben_and_butylparaben_share_one_limit() -> None:
    each = {"Propylparaben": 0.071 * 180.20 / 138.12, "Butylparaben": 0.071 * 194.23 / 138.12}
    assert not all(check["ok"] for check in of_state(law_checks("eu", each), "as_made"))


def test_the_isothiazolinone_mixture_counts_both_and_goes_with_no_more_of_one() -> None:
    both = {"Methylchloroisothiazolinone": 0.0011, "Methylisothiazolinone": 0.0005}
    assert not all(check["ok"] for check in of_state(law_checks("eu", both), "as_made"))


def test_salts_weigh_what_their_acid_weighs() -> None:
    # Highest percent of each salt by the limit of its acid: 2.950, 0.804, 0.678 %.
    limits = {limit.id: limit for limit in load_rulebook().laws["eu"].limits}
    for limit, salt, highest in (
        ("benzoic-acid", "Sodium Benzoate", 2.950),
        ("sorbic-acid", "Potassium Sorbate", 0.804),
        ("dehydroacetic-acid", "Sodium Dehydroacetate", 0.678),
    ):
        weight = limits[limit].weight(salt)
        assert limits[limit].max / weight == pytest.approx(highest, abs=5e-4)


def test_molar_masses_are_those_of_the_formulas() -> None:
    # Abridged standard atomic weights, IUPAC 2021.
    weights = {
        "H": 1.008,
        "C": 12.011,
        "N": 14.007,
        "O": 15.999,
        "Na": 22.990,
        "Mg": 24.305,
        "K": 39.098,
        "Ca": 40.078,
        "S": 32.06,
        "Cl": 35.45,
        "Zn": 65.38,
        "Sr": 87.62,
    }
    for substance in load_rulebook().substances.values():
        if substance.formula is not None:
            parts = re.findall(r"([A-Z][a-z]?)(\d*)", substance.formula)
            mass = sum(weights[element] * int(count or 1) for element, count in parts)
            assert substance.molar_mass == pytest.approx(mass, abs=0.0051), substance.name


def test_two_acids_of_a_calcium_salt_count_twice() -> None:
    assert as_acid("Calcium Sorbate", load_rulebook().substances) == pytest.approx(2 * 112.13 / 262.32, 1e-4)


def test_the_figures_of_the_united_kingdom_are_said_to_be_carried_over() -> None:
    laws = load_rulebook().laws
    later = [
        limit
        for limit in laws["uk"].limits
        if "as of 202" in limit.source and "as of 2020" not in limit.source
    ]
    assert later
    assert {limit.basis for limit in later} == {"memory"}
    assert "carried over" in laws["uk"].head.source


def test_every_law_says_of_when_it_is_and_that_it_may_have_changed() -> None:
    for law in load_rulebook().laws.values():
        assert re.fullmatch(r"20\d\d-\d\d-\d\d", law.text_of)
        assert "Check the" in law.head.caveat or "check the" in law.head.caveat


def test_canada_asks_a_ph_from_three_percent_of_alpha_hydroxy_acids() -> None:
    law = load_rulebook().laws["ca"]

    def told(percent: float, ph: float | None) -> list[str]:
        return [condition.id for condition in conditions_met(law, {"Lactic Acid": percent}, ph)]

    assert told(2.99, None) == told(3.0, 3.5) == []
    assert told(3.0, None) == told(3.0, 3.49) == ["alpha-hydroxy-acids-from-3"]


def test_the_united_states_have_no_list_but_oatmeal_makes_a_drug_claim() -> None:
    # 21 CFR 347.10: colloidal oatmeal from 0.007 %.
    law = load_rulebook().laws["us"]
    assert law.limits == ()
    oat = "Avena Sativa Kernel Flour"
    assert not conditions_met(law, {oat: 0.0069})
    assert [condition.entry for condition in conditions_met(law, {oat: 0.007})] == ["21 CFR 347.10"]


@pytest.mark.parametrize(("ph", "told"), [(2.9, True), (3.0, False), (10.0, False), (10.1, True)])
def test_a_ph_is_notified_below_three_and_above_ten(ph: float, told: bool) -> None:
    law = load_rulebook().laws["eu"]
    assert ("ph-notified" in [condition.id for condition in conditions_met(law, {"Aqua": 5.0}, ph)]) == told


@pytest.mark.parametrize(("ph", "told"), [(None, True), (11.0, False), (11.01, True)])
def test_caustic_keeps_the_product_below_eleven(ph: float | None, told: bool) -> None:
    law = load_rulebook().laws["eu"]
    met = [condition.id for condition in conditions_met(law, {"Sodium Hydroxide": 0.1}, ph)]
    assert ("alkaline-adjuster" in met) == told


def notes(key: str, market: str) -> tuple[TextItem, ...]:
    rules = load_rulebook()
    material: Material = rules.ingredients[key].material
    return legal_notes([(1.0, material)], rules.laws.get(market), rules.label)


def test_a_preservative_without_a_maximum_is_said_to_be_one() -> None:
    assert "law-no-maximum-ethylhexylglycerin" in [note.id for note in notes("phenoxyethanol-blend", "eu")]
    assert notes("phenoxyethanol-blend", "none") == ()


def blend(key: str, composition: dict[str, float]) -> dict[str, Any]:
    return {
        "key": key,
        "name": key.capitalize(),
        "form": "liquid",
        "roles": ["preservative"],
        "composition": composition,
    }


FORBIDDEN = "law-isothiazolinone-mixture-with-methylisothiazolinone"
BLENDS = [
    blend("mix", {"Methylchloroisothiazolinone": 1.1, "Methylisothiazolinone": 0.4, "Aqua": 98.5}),
    blend("one", {"Methylisothiazolinone": 9.5, "Aqua": 90.5}),
]


def with_preservatives(**percents: float) -> dict[str, Any]:
    """Return a dough with preservatives, in percent, within every limit but that of their company."""
    lines = {"isethionate-powder": 60, "kaolin": 10 - sum(percents.values()), "betaine-30": 25, "glycerin": 5}
    return {
        "lines": [{"material": key, "percent": of} for key, of in {**lines, **percents}.items()],
    }


@pytest.mark.parametrize(
    ("market", "percents", "forbidden"),
    [
        ("eu", {"mix": 0.05, "one": 0.005}, True),
        ("uk", {"mix": 0.05, "one": 0.005}, True),
        ("jp", {"mix": 0.05, "one": 0.005}, False),
        ("eu", {"mix": 0.05}, False),
        ("eu", {"one": 0.005}, False),
    ],
)
def test_entries_39_and_57_of_annex_v_do_not_stand_together(
    market: str, percents: dict[str, float], forbidden: bool
) -> None:
    asked = {
        "recipe": with_preservatives(**percents),
        "wishes": {"market": market},
        "materials": BLENDS,
    }
    answer = assess(asked)
    failing = [check for check in answer.checks if check.kind == "law" and not check.ok]
    assert [check.name for check in failing] == (["One beside Mix"] if forbidden else [])
    assert (f"pair:{FORBIDDEN}" in [caution.id for caution in answer.cautions]) == forbidden
    report = {"feel": "too_wet", "degree": "slight"}
    if forbidden:
        with pytest.raises(NoRecipeFits) as refused:
            correct({**asked, "report": report, "wishes": {"market": market, "fixed": ["one"]}})
        assert "One beside Mix at most" in {one["demand"] for one in refused.value.problem()["conflict"]}
    else:
        assert correct({**asked, "report": report}).status == "corrected"
    weighed = weigh({**asked, "batch_grams": 1000.0, "balance_step": 0.01})
    assert all(check.ok for check in weighed.checks if check.kind == "law") != forbidden


def test_a_forbidden_company_is_neither_fetched_from_the_shelf_nor_a_replacement() -> None:
    recipe = with_preservatives(mix=0.05)
    asked = {"recipe": recipe, "materials": BLENDS, "shelf": ["one", "kaolin"], "wishes": {"market": "eu"}}
    corrected = correct({**asked, "report": {"feel": "too_wet"}})
    assert FORBIDDEN in [note.id for note in corrected.notes]
    swapped = substitute(
        {
            "recipe": with_preservatives(mix=0.05, **{"phenoxyethanol-blend": 0.8}),
            "materials": BLENDS,
            "missing": "phenoxyethanol-blend",
            "replacements": ["one"],
            "wishes": {"market": "eu"},
        }
    )
    assert [(one.replacement, one.rule) for one in swapped.rejected] == [("one", FORBIDDEN)]


def test_with_one_of_them_gone_the_other_may_stay() -> None:
    swapped = substitute(
        {
            "recipe": with_preservatives(mix=0.05, one=0.005),
            "materials": BLENDS,
            "missing": "mix",
            "replacements": ["phenoxyethanol-blend"],
            "wishes": {"market": "eu"},
        }
    )
    assert "one" in {line.material for line in swapped.options[0].recipe.lines}


def test_a_clash_stands_on_the_answer_of_a_label() -> None:
    lines = [
        {"material": "mix", "percent": 0.05},
        {"material": "one", "percent": 0.01},
        {"material": "kaolin", "percent": 99.94},
    ]
    answer = label({"recipe": {"lines": lines}, "market": "eu", "materials": BLENDS})
    assert FORBIDDEN in [remark.id for remark in answer.remarks]
