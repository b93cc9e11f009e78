"""Broken files of the law are refused with the name of the file and of the entry."""

import copy
from typing import Any

import pytest

from advisor.errors import RulesError
from advisor.rulebook.law import LawBook, LawFile, law_book
from advisor.rulebook.reader import shaped
from advisor.rulebook.substances import Substance, Substances, SubstancesFile, as_acid

SUBSTANCES: dict[str, Any] = {
    "basis": "published",
    "source": "molar masses by formula",
    "substance": [
        {
            "name": "Sorbic Acid",
            "molar_mass": 112.13,
            "pka": [4.76],
            "pka_basis": "published",
            "pka_source": "tables",
        },
        {"name": "Potassium Sorbate", "molar_mass": 150.22, "acid": "Sorbic Acid"},
    ],
}
LAW: dict[str, Any] = {
    "market": "eu",
    "title": "European Union",
    "text_of": "31 October 2025",
    "source": "Annexes",
    "caveat": "Check the text in force.",
    "limit": [
        {
            "id": "sorbic-acid",
            "name": "sorbic acid",
            "components": ["Potassium Sorbate"],
            "max": 0.6,
            "as": "acid",
            "entry": "Annex V, 4",
            "basis": "published",
        }
    ],
    "condition": [
        {"id": "told", "components": ["Aqua"], "text": "Told.", "entry": "Annex III, 1", "basis": "published"}
    ],
    "no_maximum": [{"id": "free", "name": "free", "components": ["Caprylyl Glycol"]}],
}


def substances_of(table: dict[str, Any]) -> Substances:
    return shaped(SubstancesFile, "substances.toml", {"substances.toml": table}).by_name()


def law_of(table: dict[str, Any]) -> LawBook:
    file = shaped(LawFile, "limits/eu.toml", {"limits/eu.toml": table})
    return law_book(file, substances_of(SUBSTANCES))


def changed(table: dict[str, Any], kind: str | None, **fields: Any) -> dict[str, Any]:
    broken = copy.deepcopy(table)
    target = broken if kind is None else broken[kind][0]
    for name, value in fields.items():
        if value is None:
            del target[name]
        else:
            target[name] = value
    return broken


def test_whole_files_are_read() -> None:
    assert law_of(LAW).limits[0].weights["potassium sorbate"] == pytest.approx(112.13 / 150.22)


@pytest.mark.parametrize(
    ("kind", "fields", "said"),
    [
        (None, {"caveat": None}, "caveat"),
        (None, {"source": " "}, "source"),
        (None, {"colour": "red"}, "colour: Extra inputs"),
        (None, {"limit": {}}, "limit: "),
        ("limit", {"id": None}, "limit.sorbic acid.id: Field required"),
        ("limit", {"max": "0.6"}, "limit.sorbic-acid.max: "),
        ("limit", {"max": True}, "limit.sorbic-acid.max: "),
        ("limit", {"max": 0}, "limit.sorbic-acid.max: "),
        ("limit", {"max": float("nan")}, "limit.sorbic-acid.max: "),
        ("limit", {"as": "salt"}, "limit.sorbic-acid.as: "),
        ("limit", {"components": []}, "limit.sorbic-acid.components: "),
        ("limit", {"entry": None}, "limit.sorbic-acid.entry: "),
        ("limit", {"basis": None}, "limit.sorbic-acid.basis: "),
        ("limit", {"maximum": 1}, "limit.sorbic-acid.maximum: "),
        ("limit", {"forbidden_with": ["nothing"]}, "sorbic-acid: forbidden_with names nothing"),
        ("condition", {"text": None}, "condition.told.text: "),
        ("condition", {"ph_mim": 3}, "condition.told.ph_mim: "),
        ("no_maximum", {"components": None}, "no_maximum.free.components: "),
    ],
)
def test_a_broken_law_names_file_and_entry(kind: str | None, fields: dict[str, Any], said: str) -> None:
    with pytest.raises(RulesError) as caught:
        law_of(changed(LAW, kind, **fields))
    assert said in str(caught.value)
    assert "limits/eu.toml" in str(caught.value)


def test_a_component_without_molar_mass_is_named() -> None:
    with pytest.raises(RulesError, match="sorbic-acid: Unheard Of is counted as acid"):
        law_of(changed(LAW, "limit", components=["Unheard Of"]))


@pytest.mark.parametrize("kind", ["limit", "condition"])
def test_an_entry_that_stands_twice_is_refused(kind: str) -> None:
    twice = copy.deepcopy(LAW)
    twice[kind] *= 2
    with pytest.raises(RulesError, match=f"{twice[kind][0]['id']} stands twice"):
        law_of(twice)


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({"name": None}, "name: Field required"),
        ({"molar_mass": -1}, "substance.Sorbic Acid.molar_mass"),
        ({"pka_source": None}, "substance.Sorbic Acid: Value error, pka needs pka_basis and pka_source"),
        ({"name": "Potassium Sorbate"}, "Potassium Sorbate stands twice"),
        ({"acid": "Nothing Acid"}, "its acid Nothing Acid is not in the table"),
        ({"weight": 3}, "substance.Sorbic Acid.weight"),
    ],
)
def test_a_broken_substance_is_named(fields: dict[str, Any], said: str) -> None:
    with pytest.raises(RulesError) as caught:
        substances_of(changed(SUBSTANCES, "substance", **fields))
    assert said in str(caught.value)


def test_an_acid_without_a_molar_mass_cannot_be_counted() -> None:
    known = {
        "one acid": Substance(name="One Acid"),
        "its salt": Substance(name="Its Salt", molar_mass=100.0, acid="One Acid"),
    }
    with pytest.raises(RulesError, match="a molar mass is missing"):
        as_acid("Its Salt", known)
