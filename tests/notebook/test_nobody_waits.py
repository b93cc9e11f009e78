"""Whoever calculates waits for no writer, and for nothing that another has to learn."""

import gc
import sqlite3
import threading
import time
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient

from advisor.schema.base import MOST_FAULTS, Asked
from advisor.schema.notebook import StoredDough
from api.app import create_app
from api.http import answering
from api.notebook import knowledge
from api.notebook.file import BUSY_SECONDS
from api.notebook.incoming import read_notebook
from api.resources import notebook
from api.settings import Settings
from api.work import Work

from .conftest import NETTLE, dough, recipe
from .test_keys import bearer

ASKED = {"recipe": recipe(), "report": {"feel": "too_wet"}}
LOT = "/v1/materials/kaolin/lots/A"
PATIENCE = 60.0
LONGEST_WALK = 10_000


@pytest.fixture
def reckoned(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Return the tags of the doughs that are read as evidence, as they come."""
    read: list[str] = []
    reckon = knowledge._reckoned

    def noted(tag: str, *more: Any) -> Any:
        read.append(tag)
        return reckon(tag, *more)

    monkeypatch.setattr(knowledge, "_reckoned", noted)
    return read


def test_a_key_that_was_never_used_waits_for_no_writer(at_file: TestClient, file: Path) -> None:
    house = bearer(at_file.post("/v1/keys", json={"label": "house"}).json()["key"])
    bench = {"label": "bench", "role": "bench"}
    unused = bearer(at_file.post("/v1/keys", json=bench, headers=house).json()["key"])
    with closing(sqlite3.connect(file, isolation_level=None)) as writer:
        writer.execute("BEGIN IMMEDIATE")
        began = time.monotonic()
        told = at_file.post("/v1/corrections", json=ASKED, headers=unused)
        took = time.monotonic() - began
        writer.execute("ROLLBACK")
    assert told.status_code == 200
    assert took < BUSY_SECONDS

    def used() -> list[object]:
        items = at_file.get("/v1/keys", headers=house).json()["items"]
        return [one["used_at"] for one in items if one["label"] == "bench"]

    assert used() == [None]
    at_file.post("/v1/corrections", json=ASKED, headers=unused)
    assert used() != [None]


def test_who_puts_in_much_learns_it_himself(client: TestClient, reckoned: list[str]) -> None:
    put = client.put("/v1/notebook", json={"format": 1, "doughs": [dough() for _ in range(30)]})
    assert (put.status_code, len(reckoned)) == (201, 30)
    assert client.get("/v1/window").json()["doughs"] == 30
    tag = {"If-Match": put.headers["etag"]}
    assert client.put("/v1/notebook", json={"format": 1, "doughs": [dough()]}, headers=tag).status_code == 200
    assert client.get("/v1/window").json()["doughs"] == 1
    assert client.post("/v1/notebook/restorations").status_code == 200
    assert client.get("/v1/window").json()["doughs"] == 30
    assert len(reckoned) == 61


def test_who_changes_a_material_or_a_lot_reads_the_doughs_of_it_and_no_others(
    client: TestClient, reckoned: list[str]
) -> None:
    of_clay = [dough() for _ in range(3)]
    other = dough()
    other["recipe"] = {
        "lines": [{**one, "material": "tapioca-starch"} if one["material"] == "kaolin" else one
                  for one in other["recipe"]["lines"]]
    }  # fmt: skip
    client.put("/v1/notebook", json={"format": 1, "doughs": [*of_clay, other]})
    before = client.get("/v1/window").json()
    writes = (
        (lambda: client.put("/v1/materials/nettle-powder", json=NETTLE), 0),
        (lambda: client.put(LOT, json={"active": 1.0}), 3),
        (lambda: client.delete(LOT, headers={"If-Match": client.get(LOT).headers["etag"]}), 3),
    )
    for write, read_anew in writes:
        reckoned.clear()
        assert write().status_code in (201, 204)
        assert len(reckoned) == read_anew
        client.get("/v1/window")
        assert len(reckoned) == read_anew
    assert client.get("/v1/window").json() == before


def test_what_is_not_kept_is_not_known(client: TestClient, monkeypatch: pytest.MonkeyPatch) -> None:
    client.post("/v1/doughs", json=dough())
    assert client.get("/v1/window").json()["doughs"] == 1
    tag = {"If-Match": client.get("/v1/notebook").headers["etag"]}
    with monkeypatch.context() as broken:
        broken.setattr("api.notebook.shop.Shop.taken_out", lambda _: 1 / 0)
        broken.setattr("api.notebook.shop.whole.is_empty", lambda *_: True)
        many = {"format": 1, "doughs": [dough() for _ in range(9)]}
        assert client.put("/v1/notebook", json=many, headers={"If-None-Match": "*"}).status_code == 500
    assert client.get("/v1/window").json()["doughs"] == 1
    assert client.get("/v1/notebook", headers={}).headers["etag"] == tag["If-Match"]


def test_no_shop_waits_for_what_another_learns(place: str, monkeypatch: pytest.MonkeyPatch) -> None:
    learning, may_end = threading.Event(), threading.Event()
    with TestClient(create_app(Settings(notebook=place))) as client:
        house = bearer(client.post("/v1/keys", json={"label": "house"}).json()["key"])
        other = bearer(client.post("/v1/shops", json={"name": "other"}, headers=house).json()["key"])
        client.post("/v1/doughs", json=dough(), headers=house)
        reckon = knowledge._reckoned

        def held(*of: Any) -> Any:
            learning.set()
            assert may_end.wait(PATIENCE)
            return reckon(*of)

        monkeypatch.setattr(knowledge, "_reckoned", held)
        slow = threading.Thread(target=client.get, args=("/v1/window",), kwargs={"headers": house})
        slow.start()
        try:
            assert learning.wait(PATIENCE)
            answers: list[int] = []
            quick = threading.Thread(
                target=lambda: answers.append(
                    client.post("/v1/corrections", json=ASKED, headers=other).status_code
                )
            )
            quick.start()
            quick.join(PATIENCE / 3)
            assert answers == [200]
        finally:
            may_end.set()
            slow.join()
            quick.join()


@pytest.mark.parametrize(("doughs", "apart"), [(1, False), (500, False), (501, True), (900, True)])
def test_what_many_doughs_teach_is_worked_out_apart(
    client: TestClient, monkeypatch: pytest.MonkeyPatch, doughs: int, apart: bool
) -> None:
    put = {"format": 1, "doughs": [dough() for _ in range(doughs)]}
    assert client.put("/v1/notebook", json=put).status_code == 201
    ran: list[bool] = []
    run = Work.run

    async def noted(self: Work, task: Any, *, long: bool, caller: str = "") -> Any:
        ran.append(long)
        return await run(self, task, long=long, caller=caller)

    monkeypatch.setattr(Work, "run", noted)
    assert client.post("/v1/corrections", json=ASKED).status_code == 200
    assert ran == [apart]


def shapes() -> int:
    """Return how many shapes are alive: what the collector of garbage walks through, and what goes at once."""
    gc.collect()
    return sum(isinstance(one, Asked) for one in gc.get_objects())


def test_of_the_doughs_of_a_notebook_no_shapes_are_kept(client: TestClient) -> None:
    many = {"format": 1, "doughs": [dough() for _ in range(200)]}
    before = shapes()
    incoming = read_notebook(many)
    assert shapes() - before <= 10
    assert len(incoming.doughs) == 200
    client.put("/v1/notebook", json={**many, "doughs": many["doughs"][:1]})
    of_one = shapes()
    tag = {"If-Match": client.get("/v1/notebook").headers["etag"]}
    assert client.put("/v1/notebook", json=many, headers=tag).status_code == 200
    assert client.get("/v1/window").json()["doughs"] == 200
    assert shapes() - of_one <= 10


@pytest.mark.parametrize("row", [1, "x", {}, {"recipe": {"lines": []}}])
def test_rows_that_are_none_are_looked_at_until_enough_is_wrong(
    client: TestClient, monkeypatch: pytest.MonkeyPatch, row: Any
) -> None:
    looked_at: list[Any] = []
    read = StoredDough.model_validate
    monkeypatch.setattr(
        StoredDough, "model_validate", lambda one, **more: looked_at.append(one) or read(one, **more)
    )
    told = client.put("/v1/notebook", json={"format": 1, "doughs": [row] * 20_000})
    assert told.status_code == 422
    assert len(told.json()["errors"]) == MOST_FAULTS
    assert 0 < len(looked_at) <= MOST_FAULTS


def test_the_tag_of_a_whole_notebook_is_not_made_in_the_loop(
    client: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    made: list[str] = []
    make = notebook.strong_tag

    def noted(body: bytes) -> str:
        made.append(threading.current_thread().name)
        return make(body)

    monkeypatch.setattr(notebook, "strong_tag", noted)
    monkeypatch.setattr(answering, "strong_tag", noted)
    client.put("/v1/notebook", json={"format": 1, "doughs": [dough()]})
    client.get("/v1/notebook")
    tag = client.get("/v1/notebook", headers={"Accept": "application/zip"}).headers["etag"]
    client.put("/v1/notebook", json={"format": 1, "doughs": []}, headers={"If-Match": tag})
    client.post("/v1/notebook/restorations")
    assert len(made) == 5
    assert all(name.startswith("AnyIO worker") for name in made), made


def test_the_collector_of_garbage_walks_no_long_way_at_a_time(place: str) -> None:
    before = gc.get_threshold()
    gc.set_threshold(50_000)
    try:
        with TestClient(create_app(Settings(notebook=place))):
            first, second, third = gc.get_threshold()
            assert first * second <= LONGEST_WALK
            assert first * second * third >= 50_000 * 10 * 10
    finally:
        gc.set_threshold(*before)
        gc.unfreeze()
