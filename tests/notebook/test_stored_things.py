"""What is stored over HTTP: tags, preconditions, cursors, addresses, and what calculations make of it."""

import stat
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient

from api.app import create_app
from api.settings import Settings

from .conftest import NETTLE, dough, recipe


def made(client: TestClient, body: dict[str, Any], **headers: str) -> Any:
    answer = client.post("/v1/doughs", json=body, headers=headers)
    assert answer.status_code == 201, answer.text
    return answer


def test_nothing_is_written_before_the_first_call_that_stores(at_file: TestClient, file: Path) -> None:
    client = at_file
    assert client.post("/v1/corrections", json={**dough()}).status_code == 200
    assert client.get("/v1/window").status_code == 200
    assert client.get("/v1/doughs").json()["items"] == []
    assert client.get("/v1/notebook").json()["doughs"] == []
    assert client.get("/v1/materials/kaolin").status_code == 200
    assert client.delete("/v1/materials/kaolin").status_code == 404
    assert client.delete("/v1/notebook").status_code == 204
    assert client.put("/v1/materials/nettle-powder", json={}).status_code == 422
    bad = {**dough(), "recipe": {"lines": [{"material": "no-such-thing", "percent": 100}]}}
    assert client.post("/v1/doughs", json=bad).json()["code"] == "unknown-material"
    assert not list(file.parent.iterdir())
    made(client, dough())
    assert stat.S_IMODE(file.stat().st_mode) == 0o600


def test_a_material_of_ones_own(client: TestClient) -> None:
    path = "/v1/materials/nettle-powder"
    assert client.get(path).status_code == 404
    new = client.put(path, json=NETTLE, headers={"If-None-Match": "*"})
    assert (new.status_code, new.headers["location"]) == (201, path)
    read = client.get(path)
    assert read.headers["etag"] == new.headers["etag"]
    assert client.get(path, headers={"If-None-Match": read.headers["etag"]}).status_code == 304
    again = client.put(path, json=read.json(), headers={"If-Match": read.headers["etag"]})
    assert (again.status_code, again.json()) == (200, read.json())
    assert client.put(path, json=NETTLE, headers={"If-None-Match": "*"}).json()["code"] == "stale"
    assert client.put(path, json=NETTLE).json()["code"] == "if-match-needed"
    changed = {**NETTLE, "name": "Nettle, sieved"}
    assert client.put(path, json=changed, headers={"If-Match": read.headers["etag"]}).status_code == 200
    stale = client.put(path, json=NETTLE, headers={"If-Match": read.headers["etag"]})
    assert (stale.status_code, stale.json()["code"]) == (412, "stale")
    assert [one["key"] for one in client.get("/v1/materials?own=true").json()["items"]] == ["nettle-powder"]
    assert client.get("/v1/materials?q=nettle, s").json()["items"][0]["name"] == "Nettle, sieved"
    used = {
        "recipe": {
            "lines": [{"material": "nettle-powder", "percent": 70}, {"material": "water", "percent": 30}]
        }
    }
    assert client.post("/v1/assessments", json=used).json()["consistency"]["wetness"] > 0
    assert client.delete(path).json()["code"] == "if-match-needed"
    assert client.delete(path, headers={"If-Match": '"another"'}).json()["code"] == "stale"
    assert client.delete(path, headers={"If-Match": client.get(path).headers["etag"]}).status_code == 204
    assert client.get(path).status_code == 404


def test_own_comes_before_the_library_and_inline_before_own(client: TestClient) -> None:
    asked = {"recipe": recipe()}
    library = client.get("/v1/materials/kaolin").json()
    of_library = client.post("/v1/assessments", json=asked).json()["consistency"]["wetness"]
    own = {**library, "uptake": 0.9}
    assert client.put("/v1/materials/kaolin", json=own).status_code == 201
    of_own = client.post("/v1/assessments", json=asked).json()["consistency"]["wetness"]
    inline = client.post("/v1/assessments", json={**asked, "materials": [library]}).json()["consistency"][
        "wetness"
    ]
    assert of_own < of_library
    assert inline == of_library
    assert (
        len([one for one in client.get("/v1/materials?q=kaolin").json()["items"] if one["key"] == "kaolin"])
        == 1
    )


def test_two_writers_on_one_material(client: TestClient) -> None:
    path = "/v1/materials/nettle-powder"
    tag = client.put(path, json=NETTLE).headers["etag"]
    bodies = [{**NETTLE, "name": f"Nettle {number}"} for number in range(8)]
    with ThreadPoolExecutor(8) as pool:
        codes = list(
            pool.map(lambda body: client.put(path, json=body, headers={"If-Match": tag}).status_code, bodies)
        )
    assert sorted(codes) == [200] + [412] * 7


def test_lots(client: TestClient) -> None:
    path = "/v1/materials/betaine-30/lots/B-0417"
    lot = {"active": 31.2, "expires": "2033-03-01", "stock_grams": 2400.0}
    assert client.get(path).status_code == 404
    assert client.put("/v1/materials/no-such-thing/lots/B-0417", json=lot).status_code == 404
    assert client.put(path, json={**lot, "active": 131.2}).status_code == 422
    new = client.put(path, json=lot)
    assert (new.status_code, new.headers["location"]) == (201, path)
    assert client.get(path).json() == lot
    assert client.put(path, json=lot, headers={"If-Match": new.headers["etag"]}).status_code == 200
    listed = client.get("/v1/materials/betaine-30/lots").json()
    assert [(one["lot"], one["active"]) for one in listed["items"]] == [("B-0417", 31.2)]
    with_lot = made(client, dough(lots={"betaine-30": "B-0417"})).json()["id"]
    made(client, dough())
    recalled = client.get("/v1/doughs?material=betaine-30&lot=B-0417").json()
    assert [one["id"] for one in recalled["items"]] == [with_lot]
    assert client.delete(path, headers={"If-Match": new.headers["etag"]}).status_code == 204


def test_a_kept_lot_counts_in_every_calculation_that_names_it(client: TestClient) -> None:
    lines = [
        {**line, "lot": "B-1"} if line["material"] == "betaine-30" else line for line in recipe()["lines"]
    ]
    asked = {"recipe": {"lines": lines}}
    calls: dict[str, dict[str, Any]] = {
        "assessments": asked,
        "corrections": {**asked, "report": {"feel": "too_dry"}},
        "substitutions": {**asked, "missing": "glycerin"},
        "weighings": {**asked, "batch_grams": 500, "balance_step": 0.1},
        "strengths": asked,
        "sweeps": {"task": "assessment", "recipes": [asked["recipe"]]},
    }

    def answers() -> dict[str, Any]:
        return {name: client.post(f"/v1/{name}", json=body).json() for name, body in calls.items()}

    typical = answers()
    path = "/v1/materials/betaine-30/lots/B-1"
    lot = {"active": 35.0, "expires": "2020-01-01", "stock_grams": 1.0}
    tag = client.put(path, json=lot).headers["etag"]
    strong = answers()
    assert not [name for name in calls if strong[name] == typical[name]]
    active = strong["assessments"]["totals"]["active"] - typical["assessments"]["totals"]["active"]
    assert active == pytest.approx(26.0 * 0.05, abs=0.01)
    cautions = [item["id"] for item in strong["weighings"]["cautions"]]
    assert {"lot-expired", "lot-too-little"} <= set(cautions)
    written = made(client, asked | {"report": {"feel": "workable"}}).json()["id"]
    recalled = client.get("/v1/doughs?material=betaine-30&lot=B-1").json()["items"]
    assert [one["id"] for one in recalled] == [written]
    before = client.get("/v1/window").json()["by_method"][0]["centre"]
    assert client.put(path, json={"active": 25.0}, headers={"If-Match": tag}).status_code == 200
    assert client.get("/v1/window").json()["by_method"][0]["centre"] > before
    twice = {**asked, "lots": {"betaine-30": "B-2"}}
    assert client.post("/v1/doughs", json=twice).json()["code"] == "invalid-recipe"


def test_doughs_are_read_in_pages(client: TestClient) -> None:
    ids = [made(client, dough(notes=f"dough {number}")).json()["id"] for number in range(5)]
    first = client.get("/v1/doughs?limit=2").json()
    second = client.get(f"/v1/doughs?limit=2&after={first['next']}").json()
    last = client.get(f"/v1/doughs?limit=2&after={second['next']}").json()
    assert [one["id"] for page in (first, second, last) for one in page["items"]] == ids
    assert last["next"] is None
    newest = client.get("/v1/doughs?limit=1&newest=true").json()
    assert newest["items"][0]["id"] == ids[-1]
    for wrong in ("limit=0", "limit=201", "after=x", "lot=a", "more=1"):
        assert client.get(f"/v1/doughs?{wrong}").json()["code"] == "invalid-request"


def test_the_outcome_comes_later(client: TestClient) -> None:
    new = made(client, dough())
    path = new.headers["location"]
    read = client.get(path)
    assert read.headers["etag"] == new.headers["etag"]
    later = {
        **read.json(),
        "added": [{"material": "kaolin", "grams": 8}],
        "batch_grams": 400,
        "outcome": "workable",
    }
    assert client.put(path, json=later).json()["code"] == "if-match-needed"
    assert client.put(path, json=later, headers={"If-Match": read.headers["etag"]}).status_code == 200
    assert client.get("/v1/window").json()["doughs"] == 2
    assert client.put(path, json={**later, "id": "another"}).status_code == 422
    unknown = {**later, "added": [{"material": "no-such-thing", "grams": 8}]}
    assert client.put(path, json=unknown).json()["errors"][0]["where"] == "/added/0/material"
    assert client.delete(path, headers={"If-Match": client.get(path).headers["etag"]}).status_code == 204
    assert client.get(path).json()["code"] == "not-found"


def test_asking_twice_under_one_name_makes_one_dough(client: TestClient) -> None:
    first = made(client, dough(), **{"Idempotency-Key": "bench-1"})
    again = made(client, dough(), **{"Idempotency-Key": "bench-1"})
    assert (again.json(), again.headers["location"]) == (first.json(), first.headers["location"])
    assert len(client.get("/v1/doughs").json()["items"]) == 1
    other = client.post("/v1/doughs", json=dough("too_dry"), headers={"Idempotency-Key": "bench-1"})
    assert (other.status_code, other.json()["code"]) == (409, "conflict")
    with ThreadPoolExecutor(8) as pool:
        same = list(
            pool.map(lambda _: made(client, dough(), **{"Idempotency-Key": "bench-2"}).json()["id"], range(8))
        )
    assert len(set(same)) == 1


def test_corrections_learn_from_the_notebook_as_from_a_history(client: TestClient) -> None:
    asked = {"recipe": recipe(24.0), "report": {"feel": "too_dry", "degree": "clear"}}
    alone = client.post("/v1/corrections", json=asked).json()
    past = [dough("too_dry", "slight"), dough("workable", made_on="2031-05-02"), dough("too_dry", "slight")]
    with_history = client.post("/v1/corrections", json={**asked, "history": past}).json()
    for one in past:
        made(client, one)
    with_notebook = client.post("/v1/corrections", json=asked).json()
    assert with_notebook == with_history
    assert with_notebook["recipe"] != alone["recipe"]
    assert (alone["before"]["consistency"]["basis"], with_notebook["before"]["consistency"]["basis"]) == (
        "estimate",
        "own",
    )


@pytest.mark.parametrize("method", ["mixer", "hand"])
def test_the_window_tells_methods_apart(client: TestClient, method: str) -> None:
    for _ in range(4):
        made(client, {**dough(), "report": {"feel": "too_wet", "method": method}})
    told = {one["method"]: one for one in client.get("/v1/window").json()["by_method"]}
    other = "hand" if method == "mixer" else "mixer"
    assert (told[method]["doughs"], told[other]["doughs"]) == (4, 0)
    width = {name: one["high"] / one["low"] for name, one in told.items()}
    assert width[method] < width[other]
    assert told["press"]["low"] < told["press"]["centre"] < told["press"]["high"]


def test_a_kept_bench_test_is_evidence(client: TestClient) -> None:
    path = "/v1/materials/kaolin/uptake-test"
    runs = [{"first_ball": 8.0, "smooth": 11.0, "sticks": 12.0}] * 3
    test = {"material": "kaolin", "liquid": "betaine-30", "repeats": runs}
    told = client.post("/v1/uptake-tests", json=test).json()
    assert told["prior"]["typical"] < told["combined"]["typical"] < told["measured"]["typical"]
    form = client.post("/v1/uptake-tests", json={"material": "kaolin"}).json()
    assert len(form["form"]) == 9
    assert form["measured"] is None
    assert client.get(path).status_code == 404
    made(client, dough("workable"))
    before = client.get("/v1/window").json()["powders"]
    assert client.put(path, json={**test, "repeats": []}).status_code == 422
    assert client.put(path, json=test).status_code == 201
    after = client.get("/v1/window").json()["powders"]
    of = {one["material"]: one for one in after}["kaolin"]
    assert of["learned"]["typical"] > {one["material"]: one for one in before}["kaolin"]["learned"]["typical"]
    assert of["relative_sd"] < 0.2
    assert client.delete(path, headers={"If-Match": client.get(path).headers["etag"]}).status_code == 204


def test_without_the_extra_the_rest_still_works(monkeypatch: pytest.MonkeyPatch) -> None:
    import sys

    for name in [
        name for name in sys.modules if name.startswith(("sqlalchemy", "api.notebook.s", "api.notebook.k"))
    ]:
        monkeypatch.delitem(sys.modules, name)
    monkeypatch.setitem(sys.modules, "sqlalchemy", None)
    bare = TestClient(create_app(Settings(notebook="unused")))
    assert bare.post("/v1/corrections", json={**dough()}).status_code == 200
    assert bare.get("/v1/materials/kaolin").status_code == 200
    for path in ("/v1/doughs", "/v1/notebook", "/v1/window"):
        told = bare.get(path)
        assert (told.status_code, told.json()["code"]) == (501, "not-installed")
        assert "dough-advisor[notebook]" in told.json()["detail"]


def test_a_dough_is_the_record_of_its_batch(client: TestClient) -> None:
    more = {"batch": "26-042", "weighed": {"kaolin": 61.0}, "lots": {"kaolin": "A"}, "made_by": "R"}
    path = made(client, dough(batch_grams=500, made_on="2031-05-02", **more)).headers["location"]
    told = client.get(f"{path}/batch-record").json()
    assert told["planned_grams"] == 500
    clay = next(line for line in told["lines"] if line["material"] == "kaolin")
    assert (clay["lot"], clay["planned_grams"], clay["weighed_grams"]) == ("A", 60.0, 61.0)
    bare = made(client, dough()).headers["location"]
    assert client.get(f"{bare}/batch-record").status_code == 404
    assert client.post("/v1/doughs", json=dough(made_on=5)).status_code == 422
