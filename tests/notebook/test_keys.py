"""Shops are told apart by keys: what is asked, what is shown once, what another shop never sees."""

import asyncio
import json
import re
from pathlib import Path

import httpx
import pytest
from fastapi.testclient import TestClient

from api.app import create_app
from api.notebook import keys
from api.notebook.callers import LOCAL
from api.notebook.keys import Wanted
from api.notebook.sharing import list_keys, make_key, revoke_key, share
from api.notebook.store import Store
from api.settings import Settings

from .conftest import NETTLE, dough


def bearer(key: str) -> dict[str, str]:
    return {"Authorization": f"Bearer {key}"}


def test_from_the_first_key_on_every_call_needs_one(client: TestClient) -> None:
    client.post("/v1/doughs", json=dough())
    made = client.post("/v1/keys", json={"label": "bench"})
    key = made.json()["key"]
    assert made.status_code == 201
    assert re.fullmatch(r"[A-Za-z0-9_-]{43}", key)
    for headers in ({}, bearer("wrong"), {"Authorization": key}, {"Authorization": "Bearer "}):
        told = client.get("/v1/doughs", headers=headers)
        assert (told.status_code, told.json()["code"]) == (401, "key-needed")
        assert told.headers["www-authenticate"].startswith("Bearer")
        assert client.post("/v1/corrections", json=dough(), headers=headers).status_code == 401
    assert len(client.get("/v1/doughs", headers=bearer(key)).json()["items"]) == 1
    for path in ("feels", "limits", "frames", "materials", "window", "keys", "backup"):
        assert client.get(f"/v1/{path}").json()["code"] == "key-needed"
        assert client.get(f"/v1/{path}", headers=bearer(key)).status_code == 200
    assert client.get("/health").status_code == client.get("/ready").status_code == 200


def test_keys_are_rotated_and_revoked(client: TestClient) -> None:
    first = client.post("/v1/keys", json={"label": "bench"}).json()
    second = client.post(f"/v1/keys/{first['id']}/rotations", headers=bearer(first["key"])).json()
    assert client.get("/v1/doughs", headers=bearer(first["key"])).status_code == 401
    rows = client.get("/v1/keys", headers=bearer(second["key"])).json()["items"]
    assert [row["label"] for row in rows] == ["bench", "bench"]
    assert [row["id"] for row in rows if row["revoked_at"] is None] == [second["id"]]
    assert second["key"] not in json.dumps(rows)
    path = f"/v1/keys/{second['id']}"
    last = client.delete(path, headers=bearer(second["key"]))
    assert (last.status_code, last.json()["code"]) == (409, "conflict")
    assert "keys make" in last.json()["detail"]
    assert "--i-am-sure" in last.json()["detail"]
    client.post("/v1/keys", json={"label": "other"}, headers=bearer(second["key"]))
    assert client.delete(path, headers=bearer(second["key"])).status_code == 204
    assert client.get("/v1/doughs", headers=bearer(second["key"])).status_code == 401
    assert client.get("/v1/doughs").status_code == 401


def test_another_shops_things_are_not_found(client: TestClient) -> None:
    house = bearer(client.post("/v1/keys", json={"label": "bench"}).json()["key"])
    guest = bearer(client.post("/v1/shops", json={"name": "Guest"}, headers=house).json()["key"])
    path = client.post("/v1/doughs", json=dough(), headers=house).headers["location"]
    client.put("/v1/materials/nettle-powder", json=NETTLE, headers=house)
    for one in (path, "/v1/materials/nettle-powder"):
        assert client.get(one, headers=house).status_code == 200
        assert client.get(one, headers=guest).status_code == 404
        assert client.delete(one, headers={**guest, "If-Match": "*"}).status_code == 404
    assert client.get("/v1/notebook", headers=guest).json()["doughs"] == []
    assert client.get("/v1/window", headers=guest).json()["doughs"] == 0
    assert client.post("/v1/shops", json={"name": "More"}, headers=guest).status_code == 404
    same = client.put(path, json=dough(), headers=guest)
    assert same.status_code == 201
    assert client.delete("/v1/notebook", headers={**guest, "If-Match": "*"}).status_code == 204
    assert client.get(path, headers=house).status_code == 200


def test_another_shop_learns_nothing_from_this_one(client: TestClient) -> None:
    house = bearer(client.post("/v1/keys", json={"label": "bench"}).json()["key"])
    guest = bearer(client.post("/v1/shops", json={"name": "Guest"}, headers=house).json()["key"])
    asked = {"recipe": dough()["recipe"], "report": {"feel": "too_dry"}}
    asked["recipe"]["lines"][0]["lot"] = "B-1"
    alone = client.post("/v1/corrections", json=asked, headers=guest).json()
    name = {"Idempotency-Key": "bench-1"}
    mine = client.post("/v1/doughs", json=dough("workable"), headers={**house, **name}).json()
    lot, cup = "/v1/materials/betaine-30/lots/B-1", "/v1/materials/kaolin/uptake-test"
    test = {"material": "kaolin", "liquid": "betaine-30", "repeats": [{"smooth": 12.0}]}
    assert client.put(lot, json={"active": 36.0}, headers=house).status_code == 201
    assert client.put(cup, json=test, headers=house).status_code == 201
    for path in (lot, cup, f"/v1/doughs/{mine['id']}/batch-record"):
        assert client.get(path, headers=guest).json()["code"] == "not-found"
    for path in (lot, cup):
        assert client.delete(path, headers={**guest, "If-Match": "*"}).json()["code"] == "not-found"
    assert client.get("/v1/materials/betaine-30/lots", headers=guest).json()["items"] == []
    recalled = "/v1/doughs?material=betaine-30&lot=B-1"
    assert client.get(recalled, headers=guest).json()["items"] == []
    assert client.post("/v1/corrections", json=asked, headers=guest).json() == alone
    assert client.post("/v1/corrections", json=asked, headers=house).json() != alone
    again = client.post("/v1/doughs", json=dough("workable"), headers={**guest, **name}).json()
    assert again["id"] != mine["id"]
    [key] = client.get("/v1/keys", headers=house).json()["items"]
    for told in (
        client.delete(f"/v1/keys/{key['id']}", headers=guest),
        client.post(f"/v1/keys/{key['id']}/rotations", headers=guest),
    ):
        assert told.json()["code"] == "not-found"
    assert client.get("/v1/doughs", headers=house).status_code == 200


def test_a_link_is_worthless_after_ten_minutes(place: str) -> None:
    store = Store(place)
    with store.writing() as connection:
        keys.new_key(connection, LOCAL, Wanted("bench"), 1_000_000)
        late, early = (keys.new_link(connection, LOCAL, 1_000_000) for _ in range(2))
        assert keys.use_link(connection, early, "phone", 1_000_000 + 599) is not None
        assert keys.use_link(connection, late, "phone", 1_000_000 + 600) is None
    store.close()


@pytest.mark.parametrize(
    ("address", "status"),
    [("127.0.0.1", 200), ("127.8.0.1", 200), ("::1", 200), ("::ffff:127.0.0.1", 200), ("192.168.1.20", 401)],
)
def test_without_keys_only_the_machine_itself_is_served(file: Path, address: str, status: int) -> None:
    async def asked() -> list[int]:
        app = create_app(Settings(notebook=str(file)))
        transport = httpx.ASGITransport(app=app, client=(address, 5000))
        async with httpx.AsyncClient(transport=transport, base_url="http://localhost") as client:
            calls = [await client.get("/v1/doughs"), await client.post("/v1/corrections", json=dough())]
            stored = await client.post("/v1/doughs", json=dough())
        return [*(one.status_code for one in calls), stored.status_code - (stored.status_code == 201)]

    assert asyncio.run(asked()) == [status] * 3
    assert file.exists() == (status == 200)


def test_only_digests_are_kept(file: Path) -> None:
    settings = Settings(notebook=str(file))
    made = make_key(settings, Wanted("house"))
    bench = make_key(settings, Wanted("bench", "bench"))
    shared = share(settings)
    revoke_key(settings, made.id, sure=False)
    raw = b"".join(path.read_bytes() for path in file.parent.iterdir())
    secrets = [
        made.key,
        bench.key,
        shared.key.key,
        *(link.partition("=")[2] for link in shared.links),
    ]
    assert len(set(secrets)) == 5
    assert not [secret for secret in secrets if secret.encode() in raw]
    assert sum(row["revoked_at"] is None for row in list_keys(settings)) == 2


def test_a_link_opens_the_notebook_once(client: TestClient, place: str) -> None:
    client.post("/v1/doughs", json=dough())
    shared = share(Settings(notebook=place), devices=1)
    link = shared.links[0]
    code = link.partition("=")[2]
    assert client.get("/v1/doughs").status_code == 401
    page = client.get(link)
    assert page.status_code == 200
    assert code in page.text
    joined = client.post("/join", data={"code": code}, follow_redirects=False)
    assert (joined.status_code, joined.headers["location"]) == (303, "/")
    cookie = joined.headers["set-cookie"].lower()
    assert "httponly" in cookie
    assert "samesite=strict" in cookie
    assert len(client.get("/v1/doughs").json()["items"]) == 1
    minted = client.post("/v1/keys", json={"label": "phone"})
    assert (minted.status_code, minted.json()["code"]) == (403, "role-needed")
    client.cookies.clear()
    assert client.post("/join", data={"code": code}, follow_redirects=False).json()["code"] == "key-needed"
    for wrong in ("/join", "/join?code=<b>"):
        assert client.get(wrong).status_code == 401
    foreign = {"Origin": "http://elsewhere.example"}
    assert client.post("/join", data={"code": code}, headers=foreign).status_code == 403


def test_no_recipe_note_or_key_is_told_in_logs_metrics_or_errors(
    client: TestClient, caplog: pytest.LogCaptureFixture
) -> None:
    caplog.set_level("DEBUG")
    key = client.post("/v1/keys", json={"label": "secret-label"}).json()["key"]
    house = bearer(key)
    kept = dough(notes="secret-note", lots={"kaolin": "secret-lot"}, made_by="secret-maker")
    kept["recipe"]["name"] = "secret-name"
    path = client.post("/v1/doughs", json=kept, headers=house).headers["location"]
    client.put("/v1/materials/kaolin/lots/secret-lot", json={"active": 1}, headers=house)
    client.get("/v1/doughs?material=kaolin&lot=secret-lot", headers=house)
    refused = [
        client.post("/v1/doughs", json={**kept, "id": "§§"}, headers=house),
        client.post("/v1/doughs", json={**kept, "batch_grams": "secret"}, headers=house),
        client.post(
            "/v1/doughs", content=json.dumps(kept)[:-1], headers={**house, "Content-Type": "application/json"}
        ),
        client.put(path, json=kept, headers=house),
        client.put(path, json=kept, headers={**house, "If-Match": '"secret"'}),
        client.put("/v1/notebook", json={"format": 1, "doughs": [kept, {**kept, "notes": 5}]}, headers=house),
        client.get("/v1/doughs", headers=bearer("wrong-secret")),
        client.get("/v1/doughs", headers={"Cookie": f"dough_key={key[:-1]}"}),
    ]
    assert [one.status_code for one in refused] == [422, 422, 400, 428, 412, 422, 401, 401]
    metrics = client.get("/metrics", headers=house)
    assert metrics.status_code == 200
    logged = "".join(one.getMessage() for one in caplog.records if not one.name.startswith("httpx"))
    assert logged.count('"event": "request"') == len(refused) + 5
    assert logged.count('"event": "key refused"') == 2
    assert logged.count('"event": "key made"') == 1
    told = logged + metrics.text + "".join(one.text for one in refused)
    assert not [word for word in ("secret", key, "kaolin", path.rpartition("/")[2]) if word in told]
