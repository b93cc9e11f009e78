"""The lists of the laws against a second reading of their sources, by a program that knows nothing of rules/.

A line of law.txt is ``list|entry|rows|CAS numbers|beginnings of names``, letters only, ten of them at most. Of
Canada's bans the number leads to the name. Sources: the Commission's export of the annexes of 31 October 2025,
the Hotlist of 28 February 2025, Notification 331 of 2000 in its provisional translation. The sections of 21 CFR, and
names of Japan's substances that the translation spells otherwise, are a second writing down from memory.
"""

import csv
import re
import tomllib
import unicodedata
from collections import defaultdict
from functools import cache
from pathlib import Path

import pytest

import rules

LAW = Path(rules.__file__).parent / "law"
READ = defaultdict(list)
for line in Path(__file__).with_name("law.txt").read_text(encoding="utf-8").splitlines():
    READ[line.split("|")[0]].append(line.split("|")[1:])


def letters(name: str) -> str:
    return re.sub("[^a-z]", "", unicodedata.normalize("NFKD", name).casefold())


@cache
def rows(which: str) -> list[dict[str, str]]:
    market, _, name = which.partition(" ")
    text = (LAW / market / f"{name}.csv").read_text(encoding="utf-8")
    return list(csv.DictReader(text.splitlines()))


def begins(row: dict[str, str], beginning: str, of: int | None) -> bool:
    names = row["components"].split(" | ")[:of]
    return any(letters(name).startswith(beginning) for name in names)


@pytest.mark.parametrize("which", sorted(READ))
def test_a_list_says_what_its_source_says(which: str) -> None:
    by_entry, by_cas = defaultdict(list), defaultdict(list)
    for row in rows(which):
        by_entry[row["entry"] if which[:2] != "eu" else row["entry"].split(", ")[-1]].append(row)
        for cas in row["cas"].split(" | "):
            by_cas[cas].append(row)
    for entry, count, cas, beginnings in READ[which]:
        found = by_entry[entry] if entry else by_cas[cas]
        assert len(found) == int(count) or not entry, (which, entry)
        assert {one for row in found for one in row["cas"].split(" | ")} >= set(cas.split()), (which, entry)
        for beginning in beginnings.split():
            # Of the Union's and the federal lists it is the name that stands first in a row.
            first = 1 if which[:2] in ("eu", "us") else None
            assert any(begins(row, beginning, first) for row in found), (which, entry or cas, beginning)


@pytest.mark.parametrize("which", sorted(READ))
def test_the_first_name_of_every_row_was_read(which: str) -> None:
    """A row is found by any of its names, and told by the first: a reading of its entry or numbers begins so."""
    by_entry, by_cas = defaultdict(set), defaultdict(set)
    for entry, _, cas, beginnings in READ[which]:
        by_entry[entry].update(beginnings.split())
        for number in cas.split():
            by_cas[number].update(beginnings.split())
    for row in rows(which):
        entry = row["entry"] if which[:2] != "eu" else row["entry"].split(", ")[-1]
        read = by_entry[entry].union(*(by_cas[number] for number in row["cas"].split(" | ")))
        first = letters(row["components"].split(" | ")[0])
        assert not first or first.startswith(tuple(read)), (which, row["entry"], first)


FIGURES = [
    tuple(line.split("|"))
    for line in Path(__file__).with_name("figures.txt").read_text(encoding="utf-8").splitlines()
]


@pytest.mark.parametrize("market", ["eu", "ca"])
def test_every_entry_with_a_figure_for_what_is_rinsed_off_has_a_row_or_a_reason(market: str) -> None:
    """A line of figures.txt is ``market|entry|highest percents|day and reason`` of each entry that names a figure."""
    held = defaultdict(set)
    for row in rows(f"{market} restricted"):
        if row["max"]:
            held[row["entry"]].add(float(row["max"]))
    read = [line[1:] for line in FIGURES if line[0] == market]
    assert len(read) > 50
    for entry, highest, reason in read:
        assert held.pop(entry, set()) == set(map(float, highest.split())), entry
        assert highest or re.fullmatch(r"20\d\d-\d\d-\d\d [A-Za-z].{8,}", reason), entry
    assert not held


def test_annex_two_runs_on_without_a_gap() -> None:
    # Of the entries 1 to 1751 these are marked as moved or deleted.
    gone = {
        int(entry)
        for entry in [
            "80",
            "116",
            "354",
            "382",
            "392",
            "415",
            "451",
            "615",
            "616",
            "672",
            "673",
            "698",
            "701",
            "703",
            "704",
            "710",
            "743",
            "1033",
            "1063",
            "1110",
            "1129",
            "1130",
            "1170",
            "1171",
            "1182",
            "1192",
            "1427",
        ]
    }
    numbers = {int(row["entry"]) for row in rows("eu prohibited")}
    assert numbers | gone == set(range(1, 1752)) and not numbers & gone


def test_every_entry_can_be_found_by_what_a_recipe_can_hold() -> None:
    """A component is written in at most 200 letters: an entry has a name or a number within that."""
    for which in READ:
        for row in rows(which):
            names = "|".join((row["components"], row.get("helps", ""), row["cas"], row["ec"])).split("|")
            assert any(0 < len(name.strip()) <= 200 for name in names), (which, row["entry"])


@pytest.mark.parametrize("market", ["eu", "uk", "jp"])
def test_what_has_no_maximum_is_found_by_its_name(market: str) -> None:
    head = tomllib.loads((LAW / market / "market.toml").read_text(encoding="utf-8"))
    for entry in head["no_maximum"]:
        assert letters(entry["name"]).startswith(letters(entry["components"][0])), entry["id"]
