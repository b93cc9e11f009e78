"""Shops are told apart by keys: what is asked, what is shown once, what another shop never sees."""

import asyncio
import json
import re
from pathlib import Path

import httpx
import pytest
from fastapi.testclient import TestClient

from api.app import create_app
from api.notebook.sharing import list_keys, new_key, new_shop, revoke_key, rotate_key, share
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
    assert client.get("/v1/feels").status_code == 200


def test_keys_are_rotated_and_revoked(client: TestClient) -> None:
    first = client.post("/v1/keys", json={"label": "bench"}).json()
    second = client.post(f"/v1/keys/{first['id']}/rotations", headers=bearer(first["key"])).json()
    assert client.get("/v1/doughs", headers=bearer(first["key"])).status_code == 401
    rows = client.get("/v1/keys", headers=bearer(second["key"])).json()["items"]
    assert [row["label"] for row in rows] == ["bench", "bench"]
    assert [row["id"] for row in rows if row["revoked_at"] is None] == [second["id"]]
    assert second["key"] not in json.dumps(rows)
    path = f"/v1/keys/{second['id']}"
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
    made = new_key(settings, "bench")
    turned = rotate_key(settings, made.id)
    other = new_shop(settings, "Guest")
    shared = share(settings)
    revoke_key(settings, turned.id)
    raw = b"".join(path.read_bytes() for path in file.parent.iterdir())
    secrets = [
        made.key,
        turned.key,
        other.key,
        shared.key.key,
        *(link.partition("=")[2] for link in shared.links),
    ]
    assert len(set(secrets)) == 6
    assert not [secret for secret in secrets if secret.encode() in raw]
    assert sum(row["revoked_at"] is None for row in list_keys(settings)) == 1


def test_a_link_opens_the_notebook_once(client: TestClient, place: str) -> None:
    client.post("/v1/doughs", json=dough())
    link = share(Settings(notebook=place), devices=1).links[0]
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
    client.cookies.clear()
    assert client.post("/join", data={"code": code}, follow_redirects=False).json()["code"] == "key-needed"
    for wrong in ("/join", "/join?code=<b>"):
        assert client.get(wrong).status_code == 401
    foreign = {"Origin": "http://elsewhere.example"}
    assert client.post("/join", data={"code": code}, headers=foreign).status_code == 403


def test_no_recipe_note_or_key_is_logged(client: TestClient, caplog: pytest.LogCaptureFixture) -> None:
    caplog.set_level("DEBUG")
    key = client.post("/v1/keys", json={"label": "secret-label"}).json()["key"]
    kept = dough(notes="secret-note")
    kept["recipe"]["name"] = "secret-name"
    client.post("/v1/doughs", json=kept, headers=bearer(key))
    client.post("/v1/doughs", json={**kept, "id": "§§"}, headers=bearer(key))
    client.get("/v1/doughs", headers=bearer("wrong-secret"))
    told = caplog.text
    assert not [word for word in ("secret", key, "kaolin") if word in told]
