"""The library against a second reading of the list of raw materials that its figures were taken from.

materials.csv was read out by a program of its own, without the library beside it; a field that stands empty
was changed on purpose since (kinds of water told apart, molar masses to five figures, hazards brought up to
date), or the list leaves it open. Figures of the list are usual values and estimates, not measurements. Rows of what
came into the library later, and hazards that were brought up to date, are a second writing down of the library's own:
it keeps them from slips and makes them no truer.
"""

import csv
from pathlib import Path
from typing import Any

import pytest

from tests.rulebook.test_materials_data import LIBRARY

ROWS = list(
    csv.DictReader(Path(__file__).with_name("materials.csv").read_text(encoding="utf-8").splitlines())
)
FIGURES = ("active", "water", "uptake", "wetting")
RANGES = ("use", "ph", "works_ph")
SINGLE = ("melts_c", "molar_mass", "mildness")
WORDS = ("form", "charge")


def written(block: dict[str, Any], field: str) -> str:
    """Return a field of the library as the list writes it."""
    value = block.get(field)
    if value is None:
        return ""
    if field in FIGURES:
        return f"{value['typical']:g}"
    if field in RANGES:
        return "..".join(f"{value[end]:g}" if end in value else "" for end in ("min", "max"))
    if field == "composition":
        return "; ".join(f"{name} {share:g}" for name, share in value.items()).casefold()
    if field in ("roles", "hazards"):
        return " ".join(value if field == "roles" else sorted(value))
    return f"{value:g}" if field in SINGLE else str(value)


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["key"])
def test_the_library_says_what_its_list_says(row: dict[str, str]) -> None:
    block = LIBRARY[row["key"]]
    read = {field: text for field, text in row.items() if text and field != "key"}
    found = {field: written(block, field) for field in read}
    shares = [dict.fromkeys(told.pop("composition", "").casefold().split("; ")) for told in (read, found)]
    assert found == read
    assert not read or shares[0].keys() <= shares[1].keys()


def test_most_of_the_library_was_read_twice() -> None:
    assert len(ROWS) >= 130
    filled = sum(bool(row[field]) for row in ROWS for field in (*FIGURES, *RANGES, *SINGLE, "composition"))
    assert filled >= 760
