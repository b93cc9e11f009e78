"""Broken files of the law are refused with the name of the file and of the entry."""

import copy
from typing import Any

import pytest

from advisor.errors import RulesError
from advisor.rulebook.law import Substance, as_acid, read_law, read_substances

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
    law = read_law(LAW, read_substances(SUBSTANCES))
    assert law.limits[0].weights["potassium sorbate"] == pytest.approx(112.13 / 150.22)


@pytest.mark.parametrize(
    ("kind", "fields", "said"),
    [
        (None, {"caveat": None}, "caveat"),
        (None, {"source": " "}, "source"),
        (None, {"colour": "red"}, "unknown field colour"),
        (None, {"limit": {}}, "limit must be a list"),
        ("limit", {"id": None}, "needs id"),
        ("limit", {"max": "0.6"}, "sorbic-acid: needs max"),
        ("limit", {"max": True}, "sorbic-acid: needs max"),
        ("limit", {"max": 0}, "max must be above 0"),
        ("limit", {"max": float("nan")}, "sorbic-acid: needs max"),
        ("limit", {"as": "salt"}, "sorbic-acid: as must be"),
        ("limit", {"components": []}, "sorbic-acid: needs components"),
        ("limit", {"components": ["Unheard Of"]}, "Unheard Of is counted as acid"),
        ("limit", {"entry": None}, "sorbic-acid: needs entry"),
        ("limit", {"basis": None}, "sorbic-acid: needs basis"),
        ("limit", {"maximum": 1}, "sorbic-acid: unknown field maximum"),
        ("limit", {"forbidden_with": ["nothing"]}, "forbidden_with names nothing"),
        ("condition", {"text": None}, "told: needs text"),
        ("condition", {"ph_mim": 3}, "told: unknown field ph_mim"),
        ("no_maximum", {"components": None}, "free: needs components"),
    ],
)
def test_a_broken_law_names_file_and_entry(kind: str | None, fields: dict[str, Any], said: str) -> None:
    with pytest.raises(RulesError) as caught:
        read_law(changed(LAW, kind, **fields), read_substances(SUBSTANCES), "limits/eu.toml")
    assert said in str(caught.value)
    assert "limits/eu.toml" in str(caught.value)


@pytest.mark.parametrize("kind", ["limit", "condition"])
def test_an_entry_that_stands_twice_is_refused(kind: str) -> None:
    twice = copy.deepcopy(LAW)
    twice[kind] *= 2
    with pytest.raises(RulesError, match="stands twice"):
        read_law(twice, read_substances(SUBSTANCES))


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({"name": None}, "needs name"),
        ({"molar_mass": -1}, "Sorbic Acid: needs molar_mass"),
        ({"pka_source": None}, "Sorbic Acid: pka needs pka_basis and pka_source"),
        ({"name": "Potassium Sorbate"}, "Potassium Sorbate stands twice"),
        ({"acid": "Nothing Acid"}, "its acid Nothing Acid is not in the table"),
        ({"weight": 3}, "unknown field weight"),
    ],
)
def test_a_broken_substance_is_named(fields: dict[str, Any], said: str) -> None:
    with pytest.raises(RulesError) as caught:
        read_substances(changed(SUBSTANCES, "substance", **fields))
    assert said in str(caught.value)


def test_an_acid_without_a_molar_mass_cannot_be_counted() -> None:
    known = {
        "one acid": Substance("One Acid", "published", "tables"),
        "its salt": Substance("Its Salt", "published", "tables", 100.0, "One Acid"),
    }
    with pytest.raises(RulesError, match="a molar mass is missing"):
        as_acid("Its Salt", known)
