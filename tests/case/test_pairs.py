"""Which materials must not meet: by component and amount, with a severity, on every road."""

from typing import Any

import pytest

import advisor
from advisor.rulebook.load import load_rulebook
from helpers import ordinary
from helpers.recipes import ROADS, filled, inline, on_every_road, special

BENZALKONIUM = inline(
    "quat-50",
    {"Benzalkonium Chloride": 50, "Aqua": 50},
    form="liquid",
    roles=["preservative"],
    charge="cationic",
)
SOAP = inline(
    "soap-flakes",
    {"Sodium Palmate": 60, "Sodium Cocoate": 30, "Aqua": 10},
    roles=["primary_surfactant"],
    charge="anionic",
    active=90,
)
BRONOPOL = inline("bronopol", {"2-Bromo-2-Nitropropane-1,3-Diol": 100}, roles=["preservative"])
AMIDE = inline("amide", {"Cocamide MEA": 100}, roles=["co_surfactant"], charge="nonionic", active=95)
BLUE = inline("blue", {"CI 77007": 100}, roles=["colourant"])
VITAMIN = inline("vitamin-c", {"Ascorbic Acid": 100}, roles=["featured"])
COCO = {"lauryl-sulfate-powder": 35.0, "isethionate-powder": 20.0, "kaolin": 15.0, "betaine-30": 25.0}
MATERIALS = [BENZALKONIUM, SOAP, BRONOPOL, AMIDE, BLUE, VITAMIN]

# parts, severity of the pair or None for no pair, its id, the pH told
CASES: list[tuple[dict[str, float], str | None, str, float | None]] = [
    ({"quat-50": 0.2}, "danger", "cationic-preservative-with-anionic", None),
    ({"sodium-benzoate": 0.5, "soap-flakes": 12}, "danger", "acid-preservative-with-soap", None),
    ({"sodium-benzoate": 0.5, "soap-flakes": 8}, None, "acid-preservative-with-soap", None),
    ({"potassium-sorbate": 0.3, "soap-flakes": 12}, "danger", "acid-preservative-with-soap", None),
    ({"benzyl-alcohol-blend": 1, "soap-flakes": 12}, "danger", "acid-preservative-with-soap", None),
    ({"bicarbonate": 1.0, "citric-acid-50": 0.4}, "danger", "acid-with-carbonate", None),
    ({"bicarbonate": 0.9, "citric-acid-50": 1.0}, None, "acid-with-carbonate", None),
    ({"chalk-ground": 5.0, "citric-acid-50": 0.3}, None, "acid-with-carbonate", None),
    ({"chalk-ground": 5.0, "lactic-acid-80": 0.4}, "danger", "acid-with-carbonate", None),
    ({"bicarbonate": 2.0, "caprylyl-glucoside-60": 45}, None, "acid-with-carbonate", None),
    ({"bronopol": 0.1, "amide": 2}, "law", "nitrosating-with-amine", None),
    ({"citric-acid": 0.6, "soap-flakes": 6}, "dough", "acid-with-soap", None),
    ({"citric-acid": 0.4, "soap-flakes": 6}, None, "acid-with-soap", None),
    ({"citric-acid": 0.6, "soap-flakes": 4}, None, "acid-with-soap", None),
    ({"behentrimonium-50": 7}, "dough", "cationic-with-anionic", None),
    ({"behentrimonium-50": 6}, None, "cationic-with-anionic", None),
    ({"behentrimonium-50": 6}, "advice", "little-cationic-with-anionic", None),
    ({"behentrimonium-50": 7}, None, "little-cationic-with-anionic", None),
    ({"lye-10": 4}, "dough", "lye-with-ester", None),
    ({"lye-10": 3}, None, "lye-with-ester", None),
    ({"coco-glucoside-52": 10}, None, "lye-with-ester", None),
    ({"caprylhydroxamic-blend": 1, "green-clay": 4}, "dough", "caprylhydroxamic-with-iron", None),
    ({"caprylhydroxamic-blend": 1, "iron-oxide-red": 0.1}, "dough", "caprylhydroxamic-with-iron", None),
    ({"caprylhydroxamic-blend": 1, "kaolin": 10}, None, "caprylhydroxamic-with-iron", None),
    ({"blue": 0.5, "citric-acid-50": 1}, "dough", "ultramarine-with-acid", None),
    ({"blue": 0.5, "citric-acid-50": 1}, "dough", "ultramarine-with-acid", 5.9),
    ({"blue": 0.5, "citric-acid-50": 1}, None, "ultramarine-with-acid", 6.0),
    ({"charcoal": 1}, "advice", "charcoal-with-preservative", None),
    ({"charcoal": 0.9}, None, "charcoal-with-preservative", None),
    ({"bentonite-sodium": 2}, "advice", "bentonite-with-preservative", None),
    ({"bentonite-sodium": 1.9}, None, "bentonite-with-preservative", None),
    ({"kaolin": 20}, None, "bentonite-with-preservative", None),
    ({"sodium-benzoate": 0.4, "vitamin-c": 0.2}, "advice", "benzoate-with-ascorbic-acid", None),
    ({"polyquaternium-10": 0.8}, None, "cationic-polymer-with-anionic", None),
    ({"polyquaternium-10": 1.2}, "advice", "cationic-polymer-with-anionic", None),
]


def watched(parts: dict[str, float], ph: float | None = None, rest: dict[str, float] | None = None) -> Any:
    body: dict[str, Any] = {"recipe": filled(parts, rest), "materials": MATERIALS}
    return advisor.assess(body if ph is None else {**body, "ph": ph})


@pytest.mark.parametrize(("parts", "severity", "pair", "ph"), CASES)
def test_a_pair_is_judged_by_amount(
    parts: dict[str, float], severity: str | None, pair: str, ph: float | None
) -> None:
    answer = watched(parts, ph)
    assert {one.id: one.severity for one in answer.findings}.get(f"pair:{pair}") == severity
    assert (f"pair:{pair}" in special(answer)) == (severity is not None)


@pytest.mark.parametrize(("sorbate", "severity"), [(0.3, "advice"), (1.7, "advice"), (2.0, "dough")])
def test_potassium_counts_in_moles(sorbate: float, severity: str) -> None:
    # 0.3 / 150.22 over 0.94 * 35 / 288.38 is 1.8 %; 10 % of the moles are 1.71 % of sorbate.
    body = {"recipe": filled({"potassium-sorbate": sorbate, "lauryl-sulfate-powder": 35}, COCO)}
    found = {one.id: one.severity for one in advisor.assess(body).findings if one.id.startswith("pair:")}
    assert list(found.values()) == [severity]


@pytest.mark.parametrize(
    ("parts", "pair"),
    [
        ({"bicarbonate": 3.0, "citric-acid": 1.0}, "acid-with-carbonate"),
        ({"quat-50": 0.2}, "cationic-preservative-with-anionic"),
        ({"behentrimonium-50": 2.0}, "little-cationic-with-anionic"),
        ({"charcoal": 1.5}, "charcoal-with-preservative"),
    ],
)
def test_a_pair_is_named_on_every_road(parts: dict[str, float], pair: str) -> None:
    answers = on_every_road(filled(parts), materials=MATERIALS)
    assert set(answers) == set(ROADS)
    for verb, answer in answers.items():
        assert f"pair:{pair}" in special(answer), verb


def test_an_inline_material_is_judged_by_its_components() -> None:
    soda = inline("house-powder", {"Sodium Bicarbonate": 95, "Zea Mays Starch": 5})
    body = {"recipe": filled({"house-powder": 2.0, "citric-acid": 1.0}), "materials": [soda]}
    assert "pair:acid-with-carbonate" in special(advisor.assess(body))


@pytest.mark.parametrize(
    ("stated", "told"),
    [
        (["anionic surfactants"], True),
        (["Cocamidopropyl Betaine"], True),
        (["Behentrimonium Methosulfate"], False),
        (["proteins"], False),
        ([], False),
    ],
)
def test_what_a_material_says_of_itself_is_heeded(stated: list[str], told: bool) -> None:
    bark = inline("bark", {"Betula Alba Bark Powder": 100}, incompatible_with=stated)
    answers = on_every_road(filled({"bark": 3.0}), materials=[bark])
    for verb, answer in answers.items():
        assert ("pair:stated" in special(answer)) == told, verb
        assert not told or "Bark" in special(answer)["pair:stated"]


@pytest.mark.parametrize(
    ("ph", "told"), [(None, False), (6.0, False), (4.5, False), (3.5, True), (8.5, False), (9.5, True)]
)
def test_a_strong_acid_is_a_ph_outside_the_window(ph: float | None, told: bool) -> None:
    said = {"incompatible_with": ["strong acid", "strong alkali"]}
    bark = inline("bark", {"Betula Alba Bark Powder": 100}, **said)
    body = {"recipe": filled({"bark": 3.0, "citric-acid": 1.0}), "materials": [bark]}
    answer = advisor.assess(body if ph is None else {**body, "ph": ph})
    assert ("pair:stated-ph" in special(answer)) == told


def test_heat_is_told_where_something_melts_hotter() -> None:
    parts = {"diazolidinyl-blend": 0.3, "carnauba-wax": 2.0}
    assert "pair:stated-heat" in special(watched(parts))
    assert "pair:stated-heat" not in special(watched({"diazolidinyl-blend": 0.3, "cetyl-alcohol": 5.0}))


@pytest.mark.parametrize("one", ordinary.RECIPES, ids=lambda one: one.name)
def test_an_innocent_recipe_stays_quiet(one: Any) -> None:
    answer = advisor.assess({"recipe": one.recipe(), "wishes": {"market": "eu"}})
    assert {finding.severity for finding in answer.findings} == {"advice"}
    for met in special(answer):
        assert not met.startswith("pair:") or one.family == "solid shampoo"


def test_no_library_material_alone_raises_a_pair() -> None:
    for key in load_rulebook().ingredients:
        lines = [{"material": key, "percent": 100.0}]
        met = [
            item for item in special(advisor.assess({"recipe": {"lines": lines}})) if item.startswith("pair:")
        ]
        assert met == [], key


def test_a_new_material_is_judged_at_its_usual_most() -> None:
    recipe = filled({"lauryl-sulfate-powder": 30.0, "phenoxyethanol-blend": 0.9}, COCO)
    body = {"recipe": recipe, "missing": "phenoxyethanol-blend", "replacements": ["potassium-sorbate"]}
    answer = advisor.substitute(body)
    assert [one.rule for one in answer.rejected if "potassium-with" in one.rule] == []


def test_a_deadly_dust_is_never_new() -> None:
    body = {"recipe": filled({}), "missing": "isethionate-powder", "replacements": ["sarcosinate-powder"]}
    assert [one.rule for one in advisor.substitute(body).rejected] == ["never-as-powder"]
    solution = {**body, "missing": "betaine-30", "replacements": ["sarcosinate-30"]}
    assert all(one.rule != "never-as-powder" for one in advisor.substitute(solution).rejected)


@pytest.mark.parametrize("ph", [4.5, 5.5, 6.5, 7.5])
def test_no_ordinary_ph_is_a_strong_acid(ph: float) -> None:
    for one in ordinary.RECIPES:
        told = advisor.assess({"recipe": one.recipe(), "ph": ph})
        stated = [item.text for item in told.cautions if item.id == "pair:stated-ph"]
        assert not any("sulfate" in text or "isethionate" in text for text in stated), one.name
