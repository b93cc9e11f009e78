"""No cell of a table that is written is run by a spreadsheet, however it parts the cells; a reader gets back what was written."""

import csv
import io
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.tables import read_recipe, read_table, write_table

NAMES = ["name", "notes", "more"]
RUN = re.compile(r"""[ ]*["]?[=+\-@\t\r＝＋－＠]""")
NUMBER = re.compile(r"-?[0-9]+(\.[0-9]+)?([eE][+-]?[0-9]+)?")
CELLS = st.text(st.sampled_from("=+-@\t\n;,'\" a1.＝"), max_size=12)


@given(st.lists(st.tuples(CELLS, CELLS, CELLS), min_size=1, max_size=4))
def test_no_cell_is_run_and_each_comes_back(rows: list[tuple[str, str, str]]) -> None:
    told = [dict(zip(NAMES, row, strict=True)) for row in rows]
    text = write_table(told, NAMES)
    for delimiter in ",;\t":
        for row in csv.reader(io.StringIO(text), delimiter=delimiter):
            assert [
                cell for cell in row if RUN.match(cell) and not NUMBER.fullmatch(cell.partition(",")[0])
            ] == []
    assert read_table(text, dict.fromkeys(NAMES, False)) == [
        {name: cell for name, cell in row.items() if cell} for row in told
    ]


@pytest.mark.parametrize(
    ("cell", "written"),
    [
        ("=1+1", "'=1+1"),
        ("a;=1+1", "a;'=1+1"),
        ('a;"=1+1;', '"a;\'""=1+1;"'),
        ("a\n@sum(1)", '"a\n\'@sum(1)"'),
        ("-4.5", "-4.5"),
        ("'tis", "''tis"),
        ("2 - 1 = 1", "2 - 1 = 1"),
    ],
)
def test_an_apostrophe_stands_before_what_might_be_run(cell: str, written: str) -> None:
    assert write_table([{"name": cell}], ["name"]) == f"name\n{written}\n"


def test_a_recipe_that_was_written_is_read_by_the_names_it_had() -> None:
    text = write_table(
        [{"material": "-bar", "percent": "40"}, {"material": "Kaolin", "percent": "60"}],
        ["material", "percent"],
    )
    recipe, _ = read_recipe(text.encode(), "bar", "bar.csv")
    assert [line["material"] for line in recipe["lines"]] == ["-bar", "Kaolin"]
