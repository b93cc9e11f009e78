"""What is sent wrong is answered as a problem that names the place, never as a fault of the server."""

import gc
import json
import random
import time
import tracemalloc
from collections.abc import Callable, Iterator
from typing import Any, get_args, get_origin

import pytest
from annotated_types import MaxLen
from fastapi.testclient import TestClient
from pydantic import BaseModel

from advisor.correction.schema import CorrectionRequest
from advisor.errors import AdvisorError
from advisor.recipe.request import read_request
from advisor.registry import TASKS
from advisor.schema.lot import Lot
from advisor.schema.material import Material, UptakeTest
from advisor.schema.notebook import KeptRecipe, StoredDough
from api.http.reading import parse_json
from helpers.counts import counted

Body = dict[str, Any]
JSON = {"content-type": "application/json"}
MIB = 1024 * 1024


def with_percent(value: Any) -> Callable[[Body], None]:
    return lambda body: body["recipe"]["lines"][0].update(percent=value)


def with_wishes(**wishes: Any) -> Callable[[Body], None]:
    return lambda body: body.update(wishes=wishes)


def with_lines(lines: list[Any]) -> Callable[[Body], None]:
    return lambda body: body["recipe"].update(lines=lines)


def repeated(body: Body) -> None:
    body["recipe"]["lines"][1]["material"] = "isethionate-powder"


def unknown(body: Body) -> None:
    body["recipe"]["lines"][2]["material"] = "kaolín"[:4] + "inn"


def in_grams(body: Body) -> None:
    line = body["recipe"]["lines"][3]
    line["grams"] = line.pop("percent")


def field_too_many(body: Body) -> None:
    body["recipe"]["lines"][0]["colour"] = "red"


def without_report(body: Body) -> None:
    del body["report"]


def with_day(value: Any) -> Callable[[Body], None]:
    return lambda body: body.update(
        history=[{"recipe": body["recipe"], "report": body["report"], "made_on": value}]
    )


LINE = {"material": "kaolin", "percent": 1}
CASES = {
    "negative": (with_percent(-5), 422, "invalid-request", "/recipe/lines/0/percent"),
    "zero": (with_percent(0), 422, "invalid-request", "/recipe/lines/0/percent"),
    "a text": (with_percent("55"), 422, "invalid-request", "/recipe/lines/0/percent"),
    "true": (with_percent(True), 422, "invalid-request", "/recipe/lines/0/percent"),
    "a list": (with_percent([55]), 422, "invalid-request", "/recipe/lines/0/percent"),
    "huge whole number": (with_percent(10**400), 422, "invalid-request", "/recipe/lines/0/percent"),
    "adds up to 99": (with_percent(54), 422, "invalid-recipe", "/recipe/lines"),
    "adds up to 101": (with_percent(56), 422, "invalid-recipe", "/recipe/lines"),
    "line repeated": (repeated, 422, "invalid-recipe", "/recipe/lines/1"),
    "unknown material": (unknown, 422, "unknown-material", "/recipe/lines/2/material"),
    "no lines": (with_lines([]), 422, "invalid-request", "/recipe/lines"),
    "10 000 lines": (with_lines([LINE] * 10_000), 422, "invalid-request", "/recipe/lines"),
    "lines are no list": (with_lines({"a": 1}), 422, "invalid-request", "/recipe/lines"),  # type: ignore[arg-type]
    "percent beside grams": (in_grams, 422, "invalid-recipe", "/recipe/lines/3"),
    "unknown field": (field_too_many, 422, "invalid-request", "/recipe/lines/0/colour"),
    "field missing": (without_report, 422, "invalid-request", "/report"),
    "wishes that exclude each other": (
        with_wishes(active={"min": 60}, components={"Cocamidopropyl Betaine": {"min": 20}}),
        422,
        "no-recipe-fits",
        "/wishes",
    ),
    "min above max": (with_wishes(active={"min": 50, "max": 40}), 422, None, "/wishes/active"),
    "a day as a number": (with_day(0), 422, "invalid-request", "/history/0/made_on"),
    "a day that is none": (with_day("2026-02-30"), 422, "invalid-request", "/history/0/made_on"),
    "a point in time": (with_day("2026-02-03T00:00:00"), 422, "invalid-request", "/history/0/made_on"),
    "fixed is not there": (with_wishes(fixed=["tapioca-starch"]), 422, "invalid-request", "/wishes/fixed/0"),
}


@pytest.mark.parametrize(("change", "status", "code", "where"), CASES.values(), ids=CASES)
def test_wrong_fields_are_named(
    client: TestClient, good: Body, change: Callable[[Body], None], status: int, code: str | None, where: str
) -> None:
    change(good)
    answer = client.post("/v1/corrections", json=good)
    problem = told(answer, status)
    assert code in (None, problem["code"])
    assert problem["errors"][0]["where"].startswith(where)


RAW = {
    "empty": (b"", 400, ""),
    "not JSON": (b'{"recipe": ', 400, ""),
    "two values": (b"{} {}", 400, ""),
    "a comma too many": (b'{"recipe": {},}', 400, ""),
    "not UTF-8": (b'{"recipe": {"name": "\xff"}}', 400, ""),
    "UTF-16": ('{"recipe": {}}'.encode("utf-16"), 400, ""),
    "byte order mark": ('{"recipe": {}}'.encode("utf-8-sig"), 400, ""),
    "NaN": (b'{"recipe": {"lines": [{"material": "kaolin", "percent": NaN}]}}', 400, ""),
    "Infinity": (b'{"recipe": {"lines": [{"material": "kaolin", "percent": Infinity}]}}', 400, ""),
    "minus Infinity": (b'{"recipe": -Infinity}', 400, ""),
    "beyond a float": (
        b'{"recipe": {"lines": [{"material": "kaolin", "percent": 1e999}]}, "report": {"feel": "too_wet"}}',
        422,
        "/recipe/lines/0/percent",
    ),
    "5 000 digits": (b'{"recipe": ' + b"1" * 5000 + b"}", 400, ""),
    "doubled key": (b'{"recipe": {"lines": [{"percent": 1, "percent": 2}]}}', 400, "/recipe/lines/0/percent"),
    "doubled key, then rubbish": (b'{"a": {"b": 1, "b": 2}, rubbish', 400, ""),
    "lone surrogate": (b'{"recipe": {"name": "\\ud800"}}', 400, ""),
    "lone surrogate as key": (b'{"\\uDC00": 1}', 400, ""),
    "lists 100 deep": (b"[" * 100 + b"]" * 100, 400, ""),
    "lists 100 000 deep": (b"[" * 100_000 + b"]" * 100_000, 400, ""),
    "objects 100 000 deep": (b'{"a":' * 100_000 + b"1" + b"}" * 100_000, 400, ""),
    "a list": (b"[]", 422, ""),
    "a text": (b'"recipe"', 422, ""),
    "null": (b"null", 422, ""),
    "100 000 fields": (
        json.dumps({str(i): 1 for i in range(100_000)}).encode(),
        422,
        "",
    ),
}


@pytest.mark.parametrize(("raw", "status", "where"), RAW.values(), ids=RAW)
def test_wrong_bytes_are_refused(client: TestClient, raw: bytes, status: int, where: str) -> None:
    problem = told(client.post("/v1/corrections", content=raw, headers=JSON), status)
    assert problem["code"] == ("invalid-json" if status == 400 else "invalid-request")
    assert [error["where"] for error in problem["errors"]] == [where] or problem["errors"][0][
        "where"
    ] == where


def test_an_escaped_surrogate_pair_is_a_character(client: TestClient, good: Body) -> None:
    good["recipe"]["name"] = "\U0001f9fc"
    answer = client.post("/v1/corrections", content=json.dumps(good).encode(), headers=JSON)
    assert answer.json()["recipe"]["name"] == "\U0001f9fc"


@pytest.mark.parametrize(
    "headers",
    [
        {},
        {"content-type": "text/plain"},
        {"content-type": "application/json; charset=latin-1"},
        {"content-type": "application/jsonp"},
        {**JSON, "content-encoding": "gzip"},
    ],
)
def test_what_is_not_declared_as_json_is_refused(client: TestClient, headers: dict[str, str]) -> None:
    assert told(client.post("/v1/corrections", content=b"{}", headers=headers), 415)["code"] == "not-json"


def test_json_in_utf_8_may_say_so(client: TestClient, good: Body) -> None:
    headers = {"content-type": 'Application/JSON; charset="UTF-8"'}
    assert client.post("/v1/corrections", content=json.dumps(good), headers=headers).status_code == 200


def test_a_body_is_as_large_as_it_says_or_as_it_comes(client: TestClient) -> None:
    def chunks() -> Iterator[bytes]:
        for _ in range(5):
            yield b" " * MIB

    for content in (b" " * (4 * MIB + 1), chunks()):
        problem = told(client.post("/v1/corrections", content=content, headers=JSON), 413)
        assert problem["code"] == "too-large"
    assert told(client.post("/v1/corrections", content=b" " * 4 * MIB, headers=JSON), 400)


@pytest.mark.parametrize("length", ["-1", "many", "9" * 30])
def test_a_length_that_is_none_is_too_large(client: TestClient, length: str) -> None:
    headers = {**JSON, "content-length": length}
    told(client.post("/v1/corrections", content=b"{}", headers=headers), 413)


def test_a_calculation_takes_no_query(client: TestClient, good: Body) -> None:
    problem = told(client.post("/v1/corrections?market=eu", json=good), 422)
    assert problem["errors"][0]["where"] == "?market"


def test_no_value_comes_back(client: TestClient, good: Body) -> None:
    good["recipe"]["lines"][0]["percent"] = "a-secret-percent"
    good["report"]["feel"] = "a-secret-feel"
    assert "a-secret" not in client.post("/v1/corrections", json=good).text


def test_thousands_of_wrong_places_are_told_briefly(client: TestClient, good: Body) -> None:
    good["recipe"]["lines"] = [{str(i): 0 for i in range(30)}] * 200
    problem = told(client.post("/v1/corrections", json=good), 422)
    assert len(problem["errors"]) == 50
    assert "more may be wrong" in problem["detail"]


def _packed(value: Any) -> bytes:
    return json.dumps(value, separators=(",", ":")).encode()


LARGE = {
    "empty objects": b'{"materials":[' + b"{}," * 5_300 + b"{}]}",
    "more materials than any shop": b'{"materials":[' + b"{}," * 80_000 + b"{}]}",
    "nothing but objects": b'{"materials":[' + b"{}," * 1_390_000 + b"{}]}",
    "doughs of empty lines": _packed({"history": [{"recipe": {"lines": [{}] * 190}, "report": {}}] * 500}),
    "wrong keys": _packed({"shelf": [1] * 390_000}),
    "wrong compositions": _packed(
        {"materials": [{"composition": dict.fromkeys(map(str, range(1_900)), "x")}] * 190}
    ),
    "a field twice at the end": b'{"m":[' + b'{"a":1},' * 190_000 + b'{"a":1,"a":2}]}',
    "one number": b'{"m":' + b"9" * 4_100_000 + b"}",
}


@pytest.mark.parametrize("name", LARGE)
def test_a_large_wrong_body_is_refused_soon_and_in_little_room(name: str) -> None:
    tracemalloc.start()
    began = time.process_time()
    try:
        with pytest.raises(AdvisorError) as refused:
            read_request(CorrectionRequest, parse_json(LARGE[name]))
        seconds, most = time.process_time() - began, tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert len(refused.value.faults) <= 50
    assert len(json.dumps(refused.value.problem())) < 20_000
    assert most < 100_000_000
    assert seconds < 4, "four times what it may take where memory is not traced"


def test_lengths_come_before_contents(client: TestClient, good: Body) -> None:
    good["recipe"]["lines"] = [{}] * 201
    problem = told(client.post("/v1/corrections", json=good), 422)
    assert [error["where"] for error in problem["errors"]] == ["/recipe/lines"]
    assert "at most 200" in problem["errors"][0]["problem"]


def without_a_bound(annotation: Any, *, bounded: bool) -> Iterator[Any]:
    """Yield the lists of an annotation that may be as long as a body."""
    marks = getattr(annotation, "__metadata__", None)
    if marks is not None:
        marks = [part for one in marks for part in (one, *getattr(one, "metadata", ()))]
        bounded = any(isinstance(one, MaxLen) for one in marks)
        annotation = annotation.__origin__
    if get_origin(annotation) in (tuple, list) and not bounded:
        yield annotation
    for part in get_args(annotation):
        yield from without_a_bound(part, bounded=False)


def test_every_list_of_a_request_has_a_greatest_length() -> None:
    shapes: list[type[BaseModel]] = [task.request for task in TASKS if task.method == "POST"]
    shapes += [KeptRecipe, StoredDough, Material, Lot, UptakeTest]
    found, seen = set(), set(shapes)
    for shape in shapes:
        for name, field in shape.model_fields.items():
            bounded = any(isinstance(one, MaxLen) for one in field.metadata)
            if list(without_a_bound(field.annotation, bounded=bounded)):
                found.add(f"{shape.__name__}.{name}")
            more = [one for one in shapes_in(field.annotation) if one not in seen]
            shapes += more
            seen |= set(more)
    assert len(seen) > 40
    assert found == set()


def shapes_in(annotation: Any) -> Iterator[type[BaseModel]]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        yield annotation
    for part in get_args(annotation):
        yield from shapes_in(part)


@pytest.mark.slow
def test_bodies_torn_and_patched_are_no_fault(client: TestClient, good: Body) -> None:
    draw = random.Random(7)
    whole = json.dumps(good).encode()
    pieces = [b"{", b"}", b"[", b"]", b'"', b"\\", b"null", b"1e999", b"-", b"NaN", b"\x00", b"\xff", b","]
    for _ in range(counted(3_000)):
        body = bytearray(whole)
        for _ in range(draw.randint(1, 4)):
            at = draw.randrange(len(body))
            body[at : at + draw.randint(0, 6)] = draw.choice(pieces)
        answer = client.post("/v1/corrections", content=bytes(body), headers=JSON)
        assert answer.status_code in (200, 400, 422), bytes(body)
        if answer.status_code != 200:
            told(answer, answer.status_code)


def told(answer: Any, status: int) -> Body:
    """Return the problem of an answer once it is one."""
    assert answer.status_code == status, answer.text
    assert answer.headers["content-type"] == "application/problem+json"
    problem: Body = answer.json()
    assert problem["type"] == f"/problems/{problem['code']}"
    assert problem["status"] == status
    assert problem["instance"] == f"urn:uuid:{answer.headers['x-request-id']}"
    assert problem["title"]
    assert problem["detail"]
    assert all(set(error) == {"where", "problem", "hint"} for error in problem["errors"])
    return problem


def test_what_is_refused_is_let_go_of_at_once(client: TestClient) -> None:
    """Its frames hold an exception, and it them, so that the body would stay until all garbage is sought."""
    body = json.dumps({f"field-{at}": 1 for at in range(20_000)}).encode()
    gc.collect()
    gc.disable()
    try:
        for _ in range(2):
            assert client.post("/v1/corrections", content=body, headers=JSON).status_code in (400, 422)
        kept = [one for one in gc.get_objects() if isinstance(one, (dict, list)) and len(one) == 20_000]
    finally:
        gc.enable()
    assert not kept
