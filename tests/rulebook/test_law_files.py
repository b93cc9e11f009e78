"""Broken files of the law are refused with the name of the file and of the entry."""

import copy
import datetime
from typing import Any

import pytest

from advisor.errors import RulesError
from advisor.rulebook.law import LawBook
from advisor.rulebook.law_files import read_laws
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
    "text_of": datetime.date(2025, 10, 31),
    "verified_on": datetime.date(2026, 1, 1),
    "review_by": datetime.date(2026, 7, 1),
    "source": "Annexes",
    "caveat": "Check the text in force.",
    "condition": [
        {"id": "told", "components": ["Aqua"], "text": "Told.", "entry": "Annex III, 1", "basis": "published"}
    ],
    "no_maximum": [{"id": "free", "name": "free", "components": ["Caprylyl Glycol"]}],
}
ROW = {
    "id": "sorbic-acid",
    "entry": "Annex V, 4",
    "name": "sorbic acid",
    "components": "Potassium Sorbate",
    "max": "0.6",
    "as": "acid",
}
HEAD = "law/eu/market.toml"
LIST = "law/eu/preservatives.csv"


def substances_of(table: dict[str, Any]) -> Substances:
    return shaped(SubstancesFile, "substances.toml", {"substances.toml": table}).by_name()


def written(*rows: dict[str, str]) -> str:
    columns = list(dict.fromkeys(column for row in rows for column in row))
    lines = [",".join(columns), *(",".join(row.get(column, "") for column in columns) for row in rows)]
    return "\n".join(lines)


def law_of(table: dict[str, Any], *rows: dict[str, str]) -> LawBook:
    quoted = [{column: f'"{cell}"' for column, cell in row.items()} for row in rows or (ROW,)]
    texts = {HEAD: "", LIST: written(*quoted)}
    laws = read_laws({HEAD: table}, texts, substances_of(SUBSTANCES), frozenset())
    return laws.on(datetime.date(2026, 2, 1))["eu"]


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
    assert law_of(LAW).limits[0].weight("POTASSIUM SORBATE") == pytest.approx(112.13 / 150.22)


@pytest.mark.parametrize(
    ("kind", "fields", "said"),
    [
        (None, {"caveat": None}, "caveat"),
        (None, {"source": " "}, "source"),
        (None, {"colour": "red"}, "colour: Extra inputs"),
        (None, {"condition": {}}, "condition: "),
        (None, {"review_by": datetime.date(2027, 7, 1)}, "review_by is at most twelve months"),
        (None, {"review_by": datetime.date(2025, 7, 1)}, "review_by is at most twelve months"),
        (None, {"text_of": "soon"}, "text_of: "),
        (None, {"exhaustive": ["restricted"]}, "exhaustive is one of"),
        (None, {"market": "uk"}, "market is uk"),
        (None, {"follows": {"market": "jp", "acts_until": 2020, "since": "since"}}, "follows jp"),
        ("condition", {"text": None}, "condition.told.text: "),
        ("condition", {"ph_mim": 3}, "condition.told.ph_mim: "),
        ("no_maximum", {"components": None}, "no_maximum.free.components: "),
    ],
)
def test_a_broken_head_names_file_and_entry(kind: str | None, fields: dict[str, Any], said: str) -> None:
    with pytest.raises(RulesError) as caught:
        law_of(changed(LAW, kind, **fields))
    assert said in str(caught.value)
    assert "law/eu" in str(caught.value)


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({"id": ""}, "Annex V, 4.id: Field required"),
        ({"max": "much"}, "sorbic-acid.max: "),
        ({"max": "0"}, "sorbic-acid.max: "),
        ({"max": "nan"}, "sorbic-acid.max: "),
        ({"as": "salt"}, "sorbic-acid.as: "),
        ({"components": ""}, "sorbic-acid.components: Field required"),
        ({"components": "Unheard Of"}, "sorbic-acid: Unheard Of is counted as acid"),
        ({"entry": ""}, "sorbic-acid.entry: Field required"),
        ({"basis": "hearsay"}, "sorbic-acid.basis: "),
        ({"maximum": "1"}, "sorbic-acid.maximum: "),
        ({"not_with": "nothing"}, "sorbic-acid: not_with names nothing"),
        ({"applies_from": "soon"}, "sorbic-acid.applies_from: "),
    ],
)
def test_a_broken_row_names_file_and_entry(fields: dict[str, str], said: str) -> None:
    with pytest.raises(RulesError) as caught:
        law_of(LAW, {**ROW, **fields})
    assert said in str(caught.value)
    assert "law/eu" in str(caught.value)


def test_an_entry_that_stands_twice_is_refused() -> None:
    twice = copy.deepcopy(LAW)
    twice["condition"] *= 2
    with pytest.raises(RulesError, match="told stands twice"):
        law_of(twice)
    with pytest.raises(RulesError, match="sorbic-acid stands twice"):
        law_of(LAW, ROW, ROW)


def test_a_row_holds_on_its_days_only() -> None:
    later = {**ROW, "id": "later", "applies_from": "2026-05-01", "applies_until": "2026-06-01"}
    texts = {HEAD: "", LIST: written(*({c: f'"{v}"' for c, v in row.items()} for row in (ROW, later)))}
    laws = read_laws({HEAD: LAW}, texts, substances_of(SUBSTANCES), frozenset())

    def held(month: int, day: int) -> list[str]:
        return [limit.id for limit in laws.on(datetime.date(2026, month, day))["eu"].limits]

    assert held(4, 30) == held(6, 1) == ["sorbic-acid"]
    assert held(5, 1) == held(5, 31) == ["sorbic-acid", "later"]


def test_what_follows_another_law_asks_about_its_later_acts() -> None:
    old = {"entry": "1", "components": "Oldbane", "act": "2009/1223"}
    new = {"entry": "2", "components": "Newbane", "act": "2024/996"}
    uk = {**LAW, "market": "uk", "follows": {"market": "eu", "acts_until": 2020, "since": "since then"}}
    texts = {"law/eu/prohibited.csv": written(old, new)}
    tables = {HEAD: LAW, "law/uk/market.toml": uk}
    laws = read_laws(tables, texts, substances_of(SUBSTANCES), frozenset()).on(datetime.date(2026, 2, 1))
    assert [(one.when, one.basis) for one in laws["uk"].prohibited] == [
        ("", "published"),
        ("since then", "memory"),
    ]
    assert [one.when for one in laws["eu"].prohibited] == ["", ""]


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
