"""Shops are told apart by keys: what is asked, what is shown once, what another shop never sees."""

import asyncio
import json
import re
from pathlib import Path

import httpx
import pytest
from fastapi.testclient import TestClient

from advisor.cli.main import main
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
        asking = httpx.AsyncClient(transport=transport, base_url="http://localhost")
        async with app.router.lifespan_context(app), asking as client:
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


def keyed(client: TestClient, role: str, house: dict[str, str]) -> dict[str, str]:
    told = client.post("/v1/keys", json={"label": role, "role": role}, headers=house)
    assert (told.status_code, told.json()["role"]) == (201, role)
    return bearer(told.json()["key"])


def test_what_each_role_may_do(client: TestClient) -> None:
    house = bearer(client.post("/v1/keys", json={"label": "house"}).json()["key"])
    first = client.post("/v1/doughs", json=dough(), headers=house)
    path = first.headers["location"]
    bench, read = keyed(client, "bench", house), keyed(client, "read", house)
    looks = [("GET", "/v1/doughs", None), ("GET", path, None), ("POST", "/v1/corrections", dough())]
    writes = [
        ("POST", "/v1/doughs", dough()),
        ("PUT", path, dough("workable")),
        ("PUT", "/v1/materials/kaolin/lots/K-1", {"active": 0}),
        ("PUT", "/v1/materials/nettle-powder", NETTLE),
        ("DELETE", path, None),
    ]
    owns = [
        ("GET", "/v1/keys", None),
        ("POST", "/v1/keys", {"label": "more"}),
        ("POST", "/v1/shops", {"name": "more"}),
        ("GET", "/v1/backup", None),
        ("POST", "/v1/notebook/restorations", None),
        ("DELETE", "/v1/keys/none", None),
        ("POST", "/v1/keys/none/rotations", None),
        ("PUT", "/v1/notebook", {"format": 1}),
        ("DELETE", "/v1/notebook", None),
    ]
    for calls, allowed in ((looks, (read, bench, house)), (writes, (bench, house)), (owns, (house,))):
        for method, address, body in calls:
            for key in (read, bench, house):
                told = client.request(method, address, json=body, headers={**key, "If-Match": "*"})
                if key in allowed:
                    assert told.status_code not in (401, 403), (method, address)
                else:
                    assert (told.status_code, told.json()["code"]) == (403, "role-needed"), (method, address)


def test_the_first_key_is_the_owners(client: TestClient) -> None:
    for role in ("bench", "read"):
        told = client.post("/v1/keys", json={"label": "phone", "role": role})
        assert (told.status_code, told.json()["errors"][0]["where"]) == (422, "/role")
    made = client.post("/v1/keys", json={"label": "house"}).json()
    assert (made["role"], made["ends_at"]) == ("owner", None)
    wrong = client.post("/v1/keys", json={"label": "x", "role": "king"}, headers=bearer(made["key"]))
    assert wrong.json()["errors"][0]["where"] == "/role"


def test_a_key_ends_and_is_known_to_be_used(place: str) -> None:
    clock = [1_900_000_000.0]
    app = create_app(Settings(notebook=place))
    with TestClient(app) as client:
        app.state.server.access._clock = lambda: clock[0]
        house = bearer(client.post("/v1/keys", json={"label": "house"}).json()["key"])
        short = {"label": "guest", "role": "read", "ends_at": 1_900_003_000}
        key = bearer(client.post("/v1/keys", json=short, headers=house).json()["key"])
        late = client.post("/v1/keys", json={"label": "late", "ends_at": 1_899_999_999}, headers=house)
        assert late.json()["errors"][0]["where"] == "/ends_at"

        def used() -> dict[str, int | None]:
            items = client.get("/v1/keys", headers=house).json()["items"]
            return {row["label"]: row["used_at"] for row in items}

        assert used() == {"house": 1_900_000_000, "guest": None}
        clock[0] += 2_999
        assert client.get("/v1/doughs", headers=key).status_code == 200
        assert used() == {"house": 1_900_000_000, "guest": 1_900_002_999}
        clock[0] += 1
        told = client.get("/v1/doughs", headers=key)
        assert (told.status_code, told.json()["detail"]) == (401, "The key has reached its end.")
        clock[0] += 3600
        used()
        assert used() == {"house": 1_900_006_600, "guest": 1_900_002_999}


def test_a_revocation_counts_at_the_next_request_of_every_worker(place: str) -> None:
    with TestClient(create_app(Settings(notebook=place))) as one:
        house = bearer(one.post("/v1/keys", json={"label": "house"}).json()["key"])
        guest = one.post("/v1/keys", json={"label": "guest", "role": "read"}, headers=house).json()
        with TestClient(create_app(Settings(notebook=place))) as other:
            for client in (one, other):
                assert client.get("/v1/doughs", headers=bearer(guest["key"])).status_code == 200
            assert one.delete(f"/v1/keys/{guest['id']}", headers=house).status_code == 204
            for client in (other, one):
                assert client.get("/v1/doughs", headers=bearer(guest["key"])).status_code == 401
            [last] = [one for one in list_keys(Settings(notebook=place)) if one["revoked_at"] is None]
            revoke_key(Settings(notebook=place), str(last["id"]), sure=True)
            assert other.get("/v1/doughs", headers=house).status_code == 401


@pytest.mark.parametrize(
    ("method", "path"), [("POST", "/v1/doughs"), ("PUT", "/v1/materials/kaolin/lots/a"), ("POST", "/join")]
)
def test_a_wrong_key_waits_for_no_writer(file: Path, method: str, path: str) -> None:
    settings = Settings(notebook=str(file))
    share(settings)
    store = Store(str(file))
    with TestClient(create_app(settings)) as client, store.writing():
        told = client.request(method, path, json=dough(), headers=bearer("wrong"))
        assert (told.status_code, told.json()["code"]) == (401, "key-needed")
        assert told.elapsed.total_seconds() < 1
    store.close()


def test_the_log_says_who_was_refused_what_and_who_changed_keys(
    client: TestClient, caplog: pytest.LogCaptureFixture
) -> None:
    caplog.set_level("INFO")
    owner = client.post("/v1/keys", json={"label": "house"}).json()
    house = bearer(owner["key"])
    bench = client.post("/v1/keys", json={"label": "bench", "role": "bench"}, headers=house).json()
    client.post("/v1/shops", json={"name": "no"}, headers=bearer(bench["key"]))
    client.delete(f"/v1/keys/{bench['id']}", headers=house)
    client.get("/v1/doughs", headers=bearer(bench["key"]))
    client.get("/v1/doughs", headers=bearer("wrong"))
    client.post("/join", data={"code": "x" * 43})
    client.get("/v1/backup", headers=house)
    client.put("/v1/notebook", json={"format": 1, "doughs": [dough()]}, headers=house)
    client.delete("/v1/notebook", headers={**house, "If-Match": "*"})
    lines = [json.loads(one.getMessage()) for one in caplog.records if one.name == "api"]
    told = [(one["event"], one["caller"]) for one in lines if one["event"] != "request"]
    assert told == [
        ("key made", "testclient"),
        ("key made", owner["id"]),
        ("key refused", bench["id"]),
        ("key revoked", owner["id"]),
        ("key refused", bench["id"]),
        ("key refused", "testclient"),
        ("link refused", "testclient"),
        ("backup", owner["id"]),
        ("notebook replaced", owner["id"]),
        ("notebook erased", owner["id"]),
    ]
    assert all(one["request_id"] for one in lines)


def test_keys_on_the_command_line_need_none(
    file: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("DOUGH_NOTEBOOK", str(file))

    def said(*words: str, code: int = 0) -> str:
        assert main(["keys", *words]) == code
        out = capsys.readouterr()
        return out.err if code else out.out

    assert "no keys" in said("list")
    assert "first key" in said("make", "Phone", "--role", "bench", code=2)
    key = said("make", "Anna").split()[-1]
    said("make", "Guest", "--role", "read", "--days", "3")
    with TestClient(create_app(Settings(notebook=str(file)))) as client:
        told = client.get("/v1/doughs").json()
        assert "keys make" in client.get("/problems/key-needed").text, told
        assert client.get("/v1/doughs", headers=bearer(key)).status_code == 200
    owner, guest = sorted(said("list").splitlines(), key=lambda line: "Guest" in line)
    assert "Anna" in owner and "last used" in owner and "ends" in guest and key not in owner
    name = owner.split()[0]
    assert "--i-am-sure" in said("revoke", name, code=2)
    assert "keys make" in said("revoke", name, "--i-am-sure")
    assert [name] == [line.split()[0] for line in said("list").splitlines() if "revoked" in line]
    said("make", "Anna again")
    assert "valid key" in said("revoke", "nothing", code=2)
