"""Tests the materials library as data: shapes, sources, sums, words, outside figures."""

import re
import tomllib
from pathlib import Path
from typing import Any

import pytest

import rules
from advisor.schema.material import Material

RULES = Path(rules.__file__).parent
FIGURES = ("active", "water", "uptake", "wetting", "price_per_kg")
EVIDENCED = (
    "composition",
    "use",
    "ph",
    "works_ph",
    "melts_c",
    "hazards",
    "mildness",
    "flags",
    "molar_mass",
    "incompatible_with",
)
KEY = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")
WAYS_OF_KNOWING = {
    "bench-practice": "practice",
    "formulators-memory": "memory",
    "dough-scale": "estimate",
    "invented-price": "estimate",
    "mildness-judgement": "estimate",
    "computed": "estimate",
}

BLOCKS: list[tuple[str, str, dict[str, Any]]] = [
    (path.name, key, block)
    for path in sorted((RULES / "materials").glob("*.toml"))
    for key, block in tomllib.loads(path.read_text(encoding="utf-8")).items()
]
LIBRARY: dict[str, dict[str, Any]] = {key: block for _, key, block in BLOCKS}
SOURCES: dict[str, dict[str, Any]] = tomllib.loads((RULES / "sources.toml").read_text(encoding="utf-8"))

each_material = pytest.mark.parametrize(
    ("key", "block"), [pytest.param(key, block, id=f"{file}:{key}") for file, key, block in BLOCKS]
)
each_source = pytest.mark.parametrize(
    ("key", "entry"), [pytest.param(k, e, id=k) for k, e in SOURCES.items()]
)


def _named_sources(node: object) -> set[str]:
    if isinstance(node, list):
        return set().union(*map(_named_sources, node))
    if isinstance(node, dict):
        own = {node["source"]} if isinstance(node.get("source"), str) else set()
        return own.union(*map(_named_sources, node.values()))
    return set()


def _figures(block: dict[str, Any]) -> dict[str, dict[str, Any]]:
    return {field: block[field] for field in FIGURES if field in block}


def _stated(block: dict[str, Any]) -> list[dict[str, str]]:
    return [block, *_figures(block).values(), *block["evidence"].values()]


def test_the_library_is_large_enough() -> None:
    assert len(LIBRARY) >= 125


def test_keys_are_unique_over_all_files_and_well_formed() -> None:
    keys = [key for _, key, _ in BLOCKS]
    assert len(keys) == len(set(keys))
    assert [key for key in keys if not KEY.fullmatch(key) or len(key) > 64] == []


def test_a_word_leads_to_one_material_only() -> None:
    owner: dict[str, str] = {}
    for key, block in LIBRARY.items():
        for word in {
            key,
            key.replace("-", " "),
            block["name"].casefold(),
            *map(str.casefold, block.get("also", [])),
        }:
            assert owner.setdefault(word, key) == key, word


@each_material
def test_a_block_is_a_material(key: str, block: dict[str, Any]) -> None:
    material = Material(key=key, **block)
    assert material.key == key
    assert "key" not in block


@each_material
def test_every_figure_has_a_range_a_basis_and_a_source(key: str, block: dict[str, Any]) -> None:
    for field, figure in _figures(block).items():
        assert set(figure) == {"typical", "low", "high", "basis", "source"}, field
        assert figure["low"] <= figure["typical"] <= figure["high"], field
    assert "water" in block
    assert "price_per_kg" in block


@each_material
def test_every_other_field_has_its_evidence(key: str, block: dict[str, Any]) -> None:
    assert set(block["evidence"]) == {field for field in EVIDENCED if field in block}


@each_material
def test_sources_exist_and_carry_the_basis_claimed(key: str, block: dict[str, Any]) -> None:
    for stated in _stated(block):
        assert stated["source"] in SOURCES
        assert stated["basis"] == SOURCES[stated["source"]]["basis"], stated["source"]


@each_material
def test_composition_adds_up_and_stands_in_order(key: str, block: dict[str, Any]) -> None:
    shares = list(block["composition"].values())
    assert sum(shares) == pytest.approx(100, abs=0.05)
    assert shares == sorted(shares, reverse=True)


@each_material
def test_active_and_water_agree_with_the_composition(key: str, block: dict[str, Any]) -> None:
    composition, water = block["composition"], block["water"]["typical"]
    assert composition.get("Aqua", 0) <= water
    assert composition.get("Aqua", 0) in (0, water)
    active = block.get("active", {"typical": 0})["typical"]
    assert active == 0 or active in composition.values()
    assert active + composition.get("Aqua", 0) <= 100
    assert ("water_kind" in block) is (water > 0)


@each_material
def test_form_decides_between_uptake_and_wetting(key: str, block: dict[str, Any]) -> None:
    dry = block["form"] in ("powder", "granule", "flake")
    assert "wetting" not in block if dry else "uptake" not in block
    assert dry or "wetting" in block
    assert ("fineness" not in block) or dry
    assert block.get("fineness") == "fine" if block["form"] == "powder" else block.get("fineness") != "fine"
    assert block["form"] not in ("soft_solid", "hard_solid") or "melts_c" in block


@each_material
def test_declared_names_leave_by_products_out(key: str, block: dict[str, Any]) -> None:
    declared, composition = block["declared"], block["composition"]
    assert set(declared) == {"eu", "us"}
    assert len(declared["eu"]) == len(declared["us"])
    shares = [composition[name] for name in declared["eu"]]
    assert shares == sorted(shares, reverse=True)
    assert ("Sodium Chloride" in declared["eu"]) is (key == "sodium-chloride")
    assert ("Sodium Hydroxide" in declared["eu"]) is key.startswith("lye-")
    assert {"Coconut Acid", "Lauric Acid", "Lauryl Alcohol"}.isdisjoint(declared["eu"])
    wet = block["form"] in ("liquid", "paste") and composition.get("Aqua", 0) >= 1.5
    assert ("Aqua" in declared["eu"]) is wet
    assert [name for name in declared["us"] if name in ("Aqua", "Parfum") or name.startswith("CI ")] == []
    assert [name for name in declared["eu"] if name in ("Water", "Fragrance") or "(" in name] == []


@each_material
def test_words_are_plain_sentences_without_brand_marks(key: str, block: dict[str, Any]) -> None:
    text = " ".join(
        text
        for field in ("also", "allergens", "incompatible_with")
        for text in (block["name"], block["notes"], *block.get(field, ()))
    )
    assert not re.search(r"[®™©]|\((R|TM|C)\)|https?:", text)
    assert block["notes"].endswith(".")
    assert len(block["notes"]) <= 200


@each_material
def test_hazards_are_bare_codes(key: str, block: dict[str, Any]) -> None:
    assert [code for code in block.get("hazards", ()) if not re.fullmatch(r"(H\d{3}|EUH\d{3})", code)] == []


@each_material
def test_preservatives_say_where_they_work_and_from_which_level(key: str, block: dict[str, Any]) -> None:
    if block["roles"][0] == "preservative":
        assert block["works_ph"]["min"] < block["works_ph"]["max"]
        assert block["use"]["min"] > 0
    else:
        assert "works_ph" not in block


@each_source
def test_a_source_says_what_where_and_when(key: str, entry: dict[str, Any]) -> None:
    assert KEY.fullmatch(key)
    assert {"title", "place", "basis"} <= set(entry) <= {"title", "place", "basis", "read"}
    assert len(", ".join([entry["title"], entry["place"], str(entry.get("read", ""))])) <= 200
    assert ("read" not in entry) is (key in WAYS_OF_KNOWING)
    assert entry["basis"] == WAYS_OF_KNOWING.get(key, entry["basis"])
    assert ("unchecked web page" in entry["place"]) is (
        entry["basis"] == "memory" and key not in WAYS_OF_KNOWING
    )


def test_every_source_is_used() -> None:
    used = set()
    for path in RULES.rglob("*.toml"):
        used |= _named_sources(tomllib.loads(path.read_text(encoding="utf-8")))
    assert set(SOURCES) - used == set()


def test_the_example_of_the_readme_is_a_material() -> None:
    readme = (RULES / "README.md").read_text(encoding="utf-8")
    examples = [tomllib.loads(text) for text in re.findall(r"```toml\n(.*?)```", readme, re.DOTALL)]
    blocks = {key: block for example in examples for key, block in example.items() if "composition" in block}
    assert blocks
    for key, block in blocks.items():
        assert Material(key=key, **block).key not in LIBRARY
        assert {stated["source"] for stated in _stated(block)} <= set(SOURCES)


def _check_digit(number: str, first: int, by: int) -> bool:
    digits = [int(digit) for digit in number if digit.isdigit()]
    ordered = digits[:-1][::first]
    return sum(place * digit for place, digit in enumerate(ordered, 1)) % by == digits[-1]


@each_material
def test_numbers_are_of_its_components_and_well_formed(key: str, block: dict[str, Any]) -> None:
    # The last digit of a CAS number is the weighted sum of the others from the right, modulo 10; of an EC
    # number that from the left, modulo 11.
    for name, numbers in block.get("identifiers", {}).items():
        assert name in block["composition"]
        assert _check_digit(numbers["cas"], -1, 10), numbers
        assert "ec" not in numbers or _check_digit(numbers["ec"], 1, 11), numbers


def test_most_of_the_library_carries_numbers() -> None:
    assert sum("identifiers" in block for block in LIBRARY.values()) >= 140
    assert len(LIBRARY) >= 190


def test_soluble_powders_are_marked() -> None:
    soluble = {key for key, block in LIBRARY.items() if block.get("soluble")}
    for key in (
        "sorbitol-powder",
        "maltodextrin",
        "inulin",
        "milk-powder",
        "pvp",
        "bicarbonate",
        "sodium-sulfate",
    ):
        assert key in soluble
    for key in ("sodium-chloride", "sodium-benzoate", "potassium-sorbate", "sodium-citrate", "citric-acid"):
        assert key in soluble
    assert soluble.isdisjoint({"kaolin", "corn-starch", "rice-flour", "isethionate-powder"})


def test_crystal_water_is_told_from_moisture() -> None:
    crystal = {key for key, block in LIBRARY.items() if block.get("water_kind") == "crystal"}
    assert crystal == {"sodium-citrate", "disodium-edta", "tetrasodium-edta"}
    assert LIBRARY["corn-starch"]["water_kind"] == "moisture"
    assert LIBRARY["glycerin-86"]["water_kind"] == "held"
    assert LIBRARY["betaine-30"]["water_kind"] == "free"


def test_carbonates_name_acids() -> None:
    for key in ("bicarbonate", "chalk-ground", "chalk-precipitated"):
        assert "acids" in LIBRARY[key]["incompatible_with"]


def test_perfumes_never_claim_to_know_their_allergens() -> None:
    for key, block in LIBRARY.items():
        if block["roles"][0] == "fragrance":
            assert any("only its supplier's sheet tells" in told for told in block["allergens"]), key


# Abridged standard atomic weights, IUPAC Commission on Isotopic Abundances and Atomic Weights, 2021.
ATOMS = {"C": 12.011, "H": 1.008, "N": 14.007, "O": 15.999, "Na": 22.990, "S": 32.06, "K": 39.098}


def _molar_mass(formula: str) -> float:
    return sum(ATOMS[atom] * int(count or 1) for atom, count in re.findall(r"([A-Z][a-z]?)(\d*)", formula))


@pytest.mark.parametrize(
    ("key", "formula"),
    [
        ("lauryl-sulfate-powder", "C12H25NaO4S"),
        ("sarcosinate-30", "C15H28NNaO3"),
        ("sulfoacetate-powder", "C14H27NaO5S"),
        ("methyl-isethionate-powder", "C15H29NaO5S"),
        ("sulfosuccinate-powder", "C16H28Na2O7S"),
        ("sodium-benzoate", "C7H5NaO2"),
        ("potassium-sorbate", "C6H7KO2"),
        ("citric-acid", "C6H8O7"),
        ("lactic-acid-80", "C3H6O3"),
        ("lye-10", "NaOH"),
        ("sodium-citrate", "C6H9Na3O9"),
        ("disodium-edta", "C10H18N2Na2O10"),
        ("glutamate-diacetate-38", "C9H9NNa4O8"),
        ("ethylenediamine-disuccinate-37", "C10H13N2Na3O8"),
        ("glycerin", "C3H8O3"),
        ("cetyl-alcohol", "C16H34O"),
        ("panthenol-75", "C9H19NO4"),
        ("sorbitol-70", "C6H14O6"),
    ],
)
def test_molar_masses_follow_from_the_formula(key: str, formula: str) -> None:
    assert LIBRARY[key]["molar_mass"] == pytest.approx(_molar_mass(formula), abs=0.1)


@pytest.mark.parametrize(
    ("key", "formula"), [("sodium-citrate", "C6H9Na3O9"), ("disodium-edta", "C10H18N2Na2O10")]
)
def test_crystal_water_of_a_dihydrate_follows_from_the_formula(key: str, formula: str) -> None:
    water = 100 * 2 * _molar_mass("H2O") / _molar_mass(formula)
    assert LIBRARY[key]["water"]["typical"] == pytest.approx(water, abs=0.1)


OUTSIDE = [
    # Final Report on the Safety Assessment of Cocamidopropyl Betaine (CIR, abstract): sold at 30 % active.
    ("betaine-30", "active", 30, 30),
    # Composition sheet of an isethionate powder: ester 78 to 84 %, water below 1 %.
    ("isethionate-powder", "active", 78, 84),
    ("isethionate-powder", "water", 0, 1),
    # Pharmacopoeia limit for sodium lauryl sulfate: at least 85 % alkyl sulfates.
    ("lauryl-sulfate-powder", "active", 85, 100),
    # Trade overview of olefin sulfonates: powder over 90 %, liquid about 40 %.
    ("olefin-sulfonate-powder", "active", 90, 100),
    ("olefin-sulfonate-39", "active", 38, 40),
    # Trade specification of sodium cocoyl sarcosinate: 30 % liquid, 94 % powder.
    ("sarcosinate-30", "active", 30, 30),
    ("sarcosinate-powder", "active", 94, 96),
    # Trade article on laureth sulfate: 70 % paste.
    ("laureth-sulfate-70", "active", 70, 70),
    # USP, Colloidal Oatmeal: loss on drying at most 10 %.
    ("colloidal-oatmeal", "water", 0, 10),
    # USP 28, Bentonite: loss on drying 5 to 8 %.
    ("bentonite-sodium", "water", 5, 8),
    # Oat flours, PMC8306198 table 3: dry matter 87.0 to 92.3 %.
    ("oat-flour", "water", 7.7, 13.0),
    # Moisture of a tapioca starch, paper: 12.23 +/- 0.51 %.
    ("tapioca-starch", "water", 11.72, 12.74),
    # Rice flours, cereal-science journal table: moisture 11.1 to 11.8 %.
    ("rice-flour", "water", 11.1, 11.8),
    # Data sheet of a precipitated chalk of pharmacopoeia grade: loss on drying at most 0.5 %.
    ("chalk-precipitated", "water", 0, 0.5),
]


@pytest.mark.parametrize(("key", "field", "low", "high"), OUTSIDE)
def test_typical_figures_lie_where_published_ones_do(key: str, field: str, low: float, high: float) -> None:
    assert low <= LIBRARY[key][field]["typical"] <= high


def test_ph_of_published_sheets() -> None:
    # Data sheet of an isethionate powder: pH 4.5 to 6.5 of a 10 % dispersion.
    assert LIBRARY["isethionate-powder"]["ph"] == {"min": 4.5, "max": 6.5, "at_percent": 10}
    # USP 28, Bentonite: pH 9.5 to 10.5 of a 2 % dispersion.
    assert LIBRARY["bentonite-sodium"]["ph"] == {"min": 9.5, "max": 10.5, "at_percent": 2}


# Regulation (EC) No 1223/2009, Annex V, rinse-off, export of 31 October 2025: percent in the ready product.
# Acids and their salts are turned into percent of the salt by their molar masses.
ANNEX_V = {
    "Phenoxyethanol": 1.0,
    "Benzyl Alcohol": 1.0,
    "Dehydroacetic Acid": 0.6,
    "Sodium Benzoate": 2.950,
    "Potassium Sorbate": 0.804,
    "Diazolidinyl Urea": 0.5,
    "Iodopropynyl Butylcarbamate": 0.02,
    "DMDM Hydantoin": 0.6,
}


@each_material
def test_usual_levels_of_preservatives_keep_to_the_law(key: str, block: dict[str, Any]) -> None:
    for component, ceiling in ANNEX_V.items():
        assert block["composition"].get(component, 0) * block["use"]["max"] / 100 <= ceiling, component


def _stands_in(figure: Any, words: str) -> bool:
    """Tell whether a figure, or every figure of a range, is among the words of a source."""
    told = {float(one) for one in re.findall(r"\d+(?:\.\d+)?", words)}
    if isinstance(figure, dict):
        kept = ("min", "max") if "at_percent" in figure else ("typical",)
        return all(float(figure[name]) in told for name in kept)
    return float(figure) in told


@each_material
def test_a_published_figure_stands_in_the_words_of_its_source(key: str, block: dict[str, Any]) -> None:
    stated = {**_figures(block), **{field: block["evidence"][field] for field in block["evidence"]}}
    for field, evidence in stated.items():
        if evidence["basis"] != "published" or isinstance(block[field], list):
            continue
        source = SOURCES[evidence["source"]]
        assert _stands_in(block[field], f"{source['title']} {source['place']}"), (field, block[field])


# Harmonised classifications, Annex VI to Regulation (EC) 1272/2008, of what a material is made of for the most part;
# quoted from memory.
HARMONISED = {
    "Citric Acid": {"H319", "H335"},
    "Lactic Acid": {"H314", "H318", "EUH071"},
    "Sodium Hydroxide": {"H314"},
    "Tetrasodium EDTA": {"H302", "H318"},
    "Phenoxyethanol": {"H302", "H318", "H335"},
    "Zinc Oxide": {"H400", "H410"},
}


@each_material
def test_hazards_hold_the_harmonised_ones(key: str, block: dict[str, Any]) -> None:
    for component, codes in HARMONISED.items():
        # Lye burns from 5 % on; of the others what is mostly it is looked at: a solution has no dust.
        least = 5 if component == "Sodium Hydroxide" else 60
        if block["composition"].get(component, 0) >= least:
            assert codes <= set(block["hazards"]), component
