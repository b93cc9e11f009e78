"""Hard things to keep: odd names, slips of the pen, very many doughs, and everybody at once."""

import json
import threading
from collections.abc import Iterator
from typing import Any
from urllib.parse import quote

import pytest
from fastapi.testclient import TestClient

from api.app import create_app
from api.settings import Settings
from helpers.counts import counted

from .conftest import dough, recipe

DOUGHS = counted(10_000)


@pytest.mark.parametrize(
    "lot", ["Ω 7", "a#b", "a?b&c", "100 %", "💧", "é", "e\u0301", " a", "+1", "'\"<i>", "x" * 100]
)
def test_a_lot_is_called_as_its_maker_calls_it(client: TestClient, lot: str) -> None:
    made = client.put(f"/v1/materials/kaolin/lots/{quote(lot, safe='')}", json={"active": 1.5})
    assert made.status_code == 201
    assert client.get(made.headers["location"]).json() == {"active": 1.5}
    written = client.post("/v1/doughs", json=dough(lots={"kaolin": lot})).json()
    client.post("/v1/doughs", json=dough(lots={"kaolin": "another"}))
    recalled = client.get("/v1/doughs", params={"material": "kaolin", "lot": lot}).json()["items"]
    assert [one["id"] for one in recalled] == [written["id"]]
    assert lot in [one["lot"] for one in client.get("/v1/window").json()["lots"]]
    out = client.get("/v1/notebook")
    tables = client.get("/v1/notebook", headers={"Accept": "application/zip"})
    for form, body in (("json", out.content), ("zip", tables.content)):
        headers = {"If-Match": out.headers["etag"], "Content-Type": f"application/{form}"}
        assert client.put("/v1/notebook", content=body, headers=headers).status_code == 200
        assert client.get("/v1/notebook").content == out.content


@pytest.mark.parametrize("lot", ["", " ", "a\x00", "\x00", "a\tb", "\x7f", "x" * 101])
def test_a_lot_needs_a_name_that_can_be_addressed(client: TestClient, lot: str) -> None:
    assert client.put(f"/v1/materials/kaolin/lots/{quote(lot, safe='')}", json={}).status_code in (
        404,
        405,
        422,
    )
    for body in (dough(lots={"kaolin": lot}), {"recipe": recipe_of(lot)}):
        assert client.post("/v1/doughs", json=body).json()["code"] == "invalid-request"
    assert client.get("/v1/doughs", params={"material": "kaolin", "lot": lot}).status_code == 422


@pytest.mark.parametrize("lot", ["B/0417", "07/2031/3", "a b", "ä", "50%"])
def test_a_lot_is_found_under_its_name_in_any_writing(client: TestClient, lot: str) -> None:
    address = f"/v1/materials/kaolin/lots/{quote(lot, safe='')}"
    made = client.put(address, json={"active": 3.0})
    assert (made.status_code, made.headers["location"]) == (201, address)
    kept = client.get(made.headers["location"])
    assert (kept.json(), kept.headers["cache-control"]) == ({"active": 3.0}, "no-store")
    assert [one["lot"] for one in client.get("/v1/materials/kaolin/lots").json()["items"]] == [lot]
    assert client.post("/v1/doughs", json=dough(lots={"kaolin": lot})).status_code == 201
    assert client.delete(address, headers={"If-Match": kept.headers["etag"]}).status_code == 204


def recipe_of(lot: str) -> dict[str, Any]:
    lines = [{**line, "lot": lot} if line["material"] == "kaolin" else line for line in recipe()["lines"]]
    return {"lines": lines}


def test_a_name_no_database_can_hold_is_refused_and_no_fault(client: TestClient) -> None:
    for path in (
        "materials/kao%00lin",
        "materials/kaolin/lots/a%00",
        "doughs/a%00",
        "materials/a%00/uptake-test",
    ):
        assert client.get(f"/v1/{path}").json()["code"] == "not-found"
    assert client.get("/v1/doughs?material=a%00&lot=b").json()["code"] == "invalid-request"
    for path, field in (("keys", "label"), ("shops", "name")):
        assert client.post(f"/v1/{path}", json={field: "a\x00b"}).json()["code"] == "invalid-request"
    assert client.post("/v1/doughs", json=dough(notes="a\x00b")).json()["notes"] == "a\x00b"


@pytest.mark.parametrize(
    "slip",
    [
        {"batch_grams": -500},
        {"batch_grams": 0},
        {"added": [{"material": "kaolin", "grams": -4}]},
        {"weighed": {"kaolin": -1}},
        {"drying": [{"hours": -1, "grams": 100}]},
        {"packed_grams": -1},
        {"made_on": "2031-02-31"},
        {"made_on": "tomorrow"},
        {"recipe": {"lines": [{"material": "kaolin", "grams": -60}, {"material": "water", "grams": 40}]}},
    ],
)
def test_a_slip_of_the_pen_is_named_and_nothing_is_kept(at_file: TestClient, slip: dict[str, Any]) -> None:
    told = at_file.post("/v1/doughs", json={**dough(), **slip})
    assert (told.status_code, told.json()["code"]) == (422, "invalid-request")
    assert told.json()["errors"][0]["where"].startswith(f"/{next(iter(slip))}")
    assert at_file.get("/v1/notebook").json()["doughs"] == []


@pytest.fixture
def fading(place: str) -> Iterator[TestClient]:
    """Return a client of a server whose doughs count half after 30 days."""
    with TestClient(create_app(Settings(notebook=place, half_life_days=30))) as made:
        yield made


def test_a_dough_dated_ahead_makes_no_other_old(fading: TestClient, client: TestClient) -> None:
    def width(of: TestClient) -> float:
        hand = of.get("/v1/window").json()["by_method"][0]
        return float(hand["high"] / hand["low"])

    for _ in range(3):
        fading.post("/v1/doughs", json=dough("workable", made_on="2020-05-01"))
    before = width(fading)
    assert width(client) == before
    fading.post("/v1/doughs", json=dough("workable", made_on="2020-12-27"))
    aged = width(fading)
    assert aged != width(client)
    ahead = fading.post("/v1/doughs", json=dough("workable", made_on="9999-12-31"))
    assert ahead.status_code == 201
    assert width(fading) < aged


def many(count: int) -> list[dict[str, Any]]:
    return [
        {**dough(lots={"kaolin": f"L{number % 60}"}), "recipe": recipe(20 + number % 10, 5 + number % 20)}
        for number in range(count)
    ]


@pytest.mark.slow
def test_thousands_of_doughs_go_in_and_come_out_again(client: TestClient) -> None:
    body = json.dumps({"format": 1, "doughs": many(DOUGHS)})
    assert len(body) > 200 * DOUGHS
    assert (
        client.put("/v1/notebook", content=body, headers={"Content-Type": "application/json"}).status_code
        == 201
    )
    assert client.get("/v1/window").json()["doughs"] == DOUGHS
    out = client.get("/v1/notebook")
    tables = client.get("/v1/notebook", headers={"Accept": "application/zip"}).content
    assert len(tables) < len(out.content) / 5
    headers = {"If-Match": out.headers["etag"], "Content-Type": "application/zip"}
    assert client.put("/v1/notebook", content=tables, headers=headers).status_code == 200
    assert client.get("/v1/notebook").content == out.content


def test_a_whole_notebook_may_be_larger_than_a_recipe(file: Any) -> None:
    settings = Settings(notebook=str(file), body_bytes_at_most=2000, notebook_bytes_at_most=20_000)
    with TestClient(create_app(settings)) as client:
        assert client.put("/v1/notebook", json={"format": 1, "doughs": many(10)}).status_code == 201
        assert (
            client.put("/v1/notebook", json={"format": 1, "doughs": many(100)}).json()["code"] == "too-large"
        )
        assert client.post("/v1/doughs", json=dough(notes="x" * 1900)).json()["code"] == "too-large"


def test_an_import_beside_writers_loses_nothing_that_was_acknowledged(client: TestClient) -> None:
    client.post("/v1/doughs", json=dough())
    acknowledged: list[str] = []
    imported: list[int] = []
    done = threading.Event()

    def write() -> None:
        while not done.is_set():
            told = client.post("/v1/doughs", json=dough())
            assert told.status_code in (201, 503)
            if told.status_code == 201:
                acknowledged.append(told.json()["id"])

    def take_out_and_put_in() -> None:
        for _ in range(15):
            out = client.get("/v1/notebook")
            told = client.put(
                "/v1/notebook",
                content=out.content,
                headers={"If-Match": out.headers["etag"], "Content-Type": "application/json"},
            )
            assert told.status_code in (200, 412, 503)
            imported.append(told.status_code)
            if told.status_code == 200:
                assert told.headers["etag"] == out.headers["etag"]
        done.set()

    threads = [threading.Thread(target=work) for work in (write, write, take_out_and_put_in)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    kept = [one["id"] for one in client.get("/v1/notebook").json()["doughs"]]
    assert len(imported) == 15
    assert len(kept) == len(set(kept))
    assert set(acknowledged) <= set(kept)
    assert client.get("/v1/window").json()["doughs"] == len(kept)


def test_of_many_that_begin_one_notebook_one_wins(client: TestClient) -> None:
    bodies = [{"format": 1, "doughs": [dough(notes=f"{number}")] * 1} for number in range(6)]
    told: list[int] = []
    threads = [
        threading.Thread(
            target=lambda body=body: told.append(client.put("/v1/notebook", json=body).status_code)
        )
        for body in bodies
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(told) == [201] + [428] * 5
    assert len(client.get("/v1/notebook").json()["doughs"]) == 1
