"""Tables and recipes of rubbish: refused with a place, never with a fault."""

import json
import random
import tempfile
from pathlib import Path
from typing import Any

from fastapi.testclient import TestClient
from hypothesis import given, settings
from hypothesis import strategies as st

import advisor
from advisor.errors import AdvisorError, InvalidRecipe, RequestError
from advisor.tables import read_recipe, read_recipe_tables, read_table, write_table
from api.app import create_app
from helpers import makers
from helpers.counts import counted

TORN = counted(4_000)
PIECES = [
    b"{",
    b"}",
    b"[",
    b"]",
    b'"',
    b"\\",
    b"null",
    b"1e999",
    b"-",
    b"NaN",
    b"\x00",
    b"\xff",
    b",",
    b"\\ud800",
]
cells = st.text(st.characters(codec="utf-8"), max_size=12)
numbers = st.one_of(
    st.floats().map(str), st.integers().map(str), cells, st.sampled_from(["", "5,5", "3 %", "inf"])
)


@settings(max_examples=300)
@given(st.binary(max_size=300))
def test_any_bytes_are_a_table_or_are_refused(raw: bytes) -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "table.csv"
        path.write_bytes(raw)
        for read in (lambda: read_recipe(raw, "table", path.name), lambda: read_recipe_tables(path)):
            try:
                read()
            except InvalidRecipe as error:
                assert error.detail


@settings(max_examples=300)
@given(
    st.sampled_from([",", ";", "\t"]),
    st.lists(
        st.tuples(cells, st.sampled_from(["kaolin", "betaine-30", "water", "x y"]), numbers), max_size=8
    ),
)
def test_any_table_of_the_right_columns_leads_to_answers_in_place(
    sign: str, rows: list[tuple[str, str, str]]
) -> None:
    text = "\n".join(sign.join(row) for row in [("recipe", "material", "percent"), *rows])
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "table.csv"
        path.write_text(text, encoding="utf-8", newline="")
        try:
            recipes = read_recipe_tables(path)
        except InvalidRecipe:
            return
    if recipes:
        answers = advisor.sweep({"task": "assessment", "recipes": recipes}, workers=1).answers
        assert [entry.index for entry in answers] == list(range(len(recipes)))
        codes = {entry.problem["code"] for entry in answers if not hasattr(entry, "answer")}
        assert codes <= {"invalid-request", "invalid-recipe", "unknown-material"}


@settings(max_examples=200)
@given(
    st.lists(st.dictionaries(st.sampled_from(["a", "b"]), st.text(st.characters(codec="utf-8"), max_size=8)))
)
def test_what_is_written_is_read_again(rows: list[dict[str, str]]) -> None:
    kept = [{name: cell for name, cell in row.items() if cell != ""} for row in rows]
    text = write_table(kept, ["a", "b"])
    assert [row for row in read_table(text, {"a": False, "b": False}) if row] == [
        _as_read(row) for row in kept if row
    ]


def _as_read(row: dict[str, str]) -> dict[str, str]:
    return {
        name: cell.replace("\r\n", "\n").replace("\r", "\n") if "\r" in cell else cell
        for name, cell in row.items()
    }


junk = st.recursive(
    st.one_of(st.none(), st.booleans(), st.integers(), st.floats(), st.text(max_size=20)),
    lambda inner: st.one_of(
        st.lists(inner, max_size=4), st.dictionaries(st.text(max_size=10), inner, max_size=4)
    ),
    max_leaves=12,
)


@settings(max_examples=400)
@given(
    st.sampled_from(["recipe", "report", "wishes", "shelf", "materials", "history"]),
    junk,
    st.integers(0, 500),
)
def test_a_field_of_rubbish_is_the_callers_fault(field: str, rubbish: Any, number: int) -> None:
    body = {"recipe": makers.recipe(number), "report": makers.report(number)} | {field: rubbish}
    try:
        advisor.correct(body)
    except AdvisorError as error:
        assert isinstance(error, RequestError)
        assert error.code == "no-recipe-fits" or error.faults


def test_torn_bodies_are_no_fault() -> None:
    draw = random.Random(11)
    calls = {"corrections": {"recipe": makers.recipe(3), "report": makers.report(3)},
             "sweeps": {"task": "assessment", "recipes": [makers.recipe(4)]},
             "labels": {"recipe": makers.recipe(5), "market": "eu"}}  # fmt: skip
    with TestClient(create_app(), raise_server_exceptions=False) as client:
        for number in range(TORN):
            call = sorted(calls)[number % len(calls)]
            body = bytearray(json.dumps(calls[call]).encode())
            for _ in range(draw.randint(1, 4)):
                at = draw.randrange(len(body))
                body[at : at + draw.randint(0, 6)] = draw.choice(PIECES)
            kind = "application/x-ndjson" if number % 7 == 0 and call == "sweeps" else "application/json"
            answer = client.post(f"/v1/{call}", content=bytes(body), headers={"content-type": kind})
            assert answer.status_code in (200, 400, 422), bytes(body)
