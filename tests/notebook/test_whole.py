"""The whole notebook: out, in, out again; tables; each bad row named; erased."""

import csv
import io
import json
import zipfile
from typing import Any

import pytest
from fastapi.testclient import TestClient

from .conftest import NETTLE, dough, recipe

RUNS = [{"smooth": 8.0}, {"smooth": 8.4}]


@pytest.fixture
def full(client: TestClient) -> TestClient:
    """Return a client whose notebook holds something of each kind, with texts that are hard on tables."""
    material = {
        **NETTLE,
        "name": "=cmd|'/c calc'!A1",
        "notes": '-2+3, "quoted"\nand a line',
        "allergens": ["'a"],
    }
    assert client.put("/v1/materials/nettle-powder", json=material).status_code == 201
    assert (
        client.put("/v1/materials/kaolin/lots/+A 1", json={"active": 0, "fineness": "fine"}).status_code
        == 201
    )
    assert client.put("/v1/materials/kaolin/lots/bare", json={}).status_code == 201
    test = {"material": "kaolin", "liquid": "betaine-30", "repeats": RUNS}
    assert client.put("/v1/materials/kaolin/uptake-test", json=test).status_code == 201
    more: dict[str, Any] = {
        "made_on": "2031-05-02",
        "lots": {"kaolin": "+A 1"},
        "room_c": -4.5,
        "notes": "@ first 'try' – Öl",
        "added": [{"material": "kaolin", "grams": 4.0}],
        "batch_grams": 200,
        "outcome": {"feel": "workable"},
        "drying": [{"hours": 0, "grams": 100}, {"hours": 24, "grams": 93.5}],
    }
    kept = {"recipe": recipe(), "note": "=first"}
    assert client.put("/v1/recipes/nettle-bar", json=kept).status_code == 201
    for body in (dough(**more), dough("workable", recipe_key="nettle-bar", version=1), {"recipe": recipe()}):
        assert client.post("/v1/doughs", json=body).status_code == 201
    return client


def test_out_in_and_out_again_is_the_same(full: TestClient) -> None:
    out = full.get("/v1/notebook")
    assert [len(out.json()[kind]) for kind in ("materials", "lots", "uptake_tests", "doughs")] == [1, 2, 1, 3]
    window = full.get("/v1/window").json()
    assert full.put("/v1/notebook", json=out.json()).json()["code"] == "if-match-needed"
    assert full.delete("/v1/notebook").json()["code"] == "if-match-needed"
    assert full.delete("/v1/notebook", headers={"If-Match": out.headers["etag"]}).status_code == 204
    assert full.get("/v1/notebook").json()["doughs"] == []
    back = full.put("/v1/notebook", json=out.json())
    assert (back.status_code, back.json()["doughs"]) == (201, 3)
    again = full.get("/v1/notebook")
    assert again.content == out.content
    assert again.headers["etag"] == back.headers["etag"] == out.headers["etag"]
    assert full.get("/v1/window").json() == window
    assert (
        full.put("/v1/notebook", json=out.json(), headers={"If-Match": out.headers["etag"]}).status_code
        == 200
    )


def test_tables_out_and_in_again(full: TestClient) -> None:
    out = full.get("/v1/notebook")
    tables = full.get("/v1/notebook", headers={"Accept": "application/zip"})
    assert full.get("/v1/notebook", headers={"Accept": "application/zip"}).content == tables.content
    with zipfile.ZipFile(io.BytesIO(tables.content)) as bundle:
        cells = [
            cell
            for name in bundle.namelist()
            for row in csv.reader(io.StringIO(bundle.read(name).decode()))
            for cell in row
        ]
    assert "'=cmd|'/c calc'!A1" in cells
    assert [cell for cell in cells if cell.startswith(("=", "+", "@", "\t", "\r", "-"))] == ["-4.5"]
    tag = {"If-Match": tables.headers["etag"], "Content-Type": "application/zip"}
    assert full.put("/v1/notebook", content=tables.content, headers=tag).status_code == 200
    assert full.get("/v1/notebook").content == out.content


def test_every_bad_row_is_named_and_nothing_is_put_in(full: TestClient) -> None:
    out = full.get("/v1/notebook")
    body = json.loads(out.text)
    body["materials"].append(body["materials"][0])
    body["lots"][0]["active"] = "many"
    body["doughs"][1]["recipe"]["lines"][0]["percent"] = 90
    body["doughs"][2]["id"] = body["doughs"][0]["id"]
    tag = {"If-Match": out.headers["etag"]}
    told = full.put("/v1/notebook", json=body, headers=tag).json()
    assert (told["code"], told["errors"][0]["where"]) == ("invalid-request", "/lots/0/active")
    body["lots"][0]["active"] = 3
    told = full.put("/v1/notebook", json=body, headers=tag).json()
    assert [fault["where"] for fault in told["errors"]] == [
        "/materials/1",
        "/doughs/2",
        "/doughs/1/recipe/lines",
    ]
    body["doughs"][0]["recipe"]["lines"][1]["lot"] = "another"
    told = full.put("/v1/notebook", json=body, headers=tag).json()
    assert "/doughs/0/recipe/lines/1/lot" in [fault["where"] for fault in told["errors"]]
    assert full.get("/v1/notebook").content == out.content
    bad = {"Content-Type": "application/zip", **tag}
    assert full.put("/v1/notebook", content=b"PK not", headers=bad).json()["code"] == "invalid-request"
    tables = {**tables_of(full), "lots.csv": "material,lot,active\nkaolin,a,x[\n"}
    told = full.put("/v1/notebook", content=packed(tables), headers=bad).json()
    assert told["errors"][0]["where"] == "/lots/0/active"


def tables_of(client: TestClient) -> dict[str, str]:
    raw = client.get("/v1/notebook", headers={"Accept": "application/zip"}).content
    with zipfile.ZipFile(io.BytesIO(raw)) as bundle:
        return {name: bundle.read(name).decode() for name in bundle.namelist()}


def packed(tables: dict[str, str]) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as bundle:
        for name, text in tables.items():
            bundle.writestr(name, text)
    return out.getvalue()


def spoiled(tables: dict[str, str]) -> dict[str, bytes]:
    """Return zips that are not all tables with known columns, by what is wrong with each."""
    whole = packed(tables)
    found = {f"without {name}": packed({**tables, name: ""}) for name in tables}
    for name, text in tables.items():
        rest = {other: body for other, body in tables.items() if other != name}
        header, _, rows = text.partition("\n")
        columns = header.split(",")
        found[f"{name} missing"] = packed(rest)
        found[f"{name} under another name"] = packed({**rest, name.upper(): text})
        found[f"{name} in a folder"] = packed({**rest, f"notebook/{name}": text})
        for other in (
            header.upper(),
            header.replace(",", ";"),
            ",".join(["what", *columns[1:]]),
            ",".join([*columns, "more"]),
            ",".join([*columns[1:], columns[1]]),
            ",".join(columns[:-1]),
            "PK",
        ):
            found[f"{name} headed {other[:40]}"] = packed({**tables, name: f"{other}\n{rows}"})
        if rows:
            found[f"{name} cut short"] = packed({**tables, name: text[: len(header) + len(rows) // 2]})
    found["one more table"] = packed({**tables, "more.csv": "a\n"})
    found["no table"] = packed({})
    for at in range(10, len(whole), max(1, len(whole) // 25)):
        found[f"cut at {at}"] = whole[:at]
        found[f"torn at {at}"] = whole[:at] + b"\xff\x00\xff" + whole[at + 3 :]
    return found


def test_an_incomplete_or_strange_zip_changes_nothing(full: TestClient) -> None:
    out = full.get("/v1/notebook")
    headers = {"If-Match": out.headers["etag"], "Content-Type": "application/zip"}
    for what, body in spoiled(tables_of(full)).items():
        told = full.put("/v1/notebook", content=body, headers=headers)
        harmless = what.startswith("torn") and told.status_code == 200
        assert harmless or told.json()["code"] == "invalid-request", what
        assert full.get("/v1/notebook").content == out.content, what


@pytest.mark.parametrize("told", [True, 1.0, 0, 3, "1"])
def test_only_a_whole_number_names_the_form_of_a_notebook(full: TestClient, told: object) -> None:
    out = full.get("/v1/notebook")
    refused = full.put("/v1/notebook", json={"format": told}, headers={"If-Match": out.headers["etag"]})
    assert (refused.status_code, refused.json()["errors"][0]["where"]) == (422, "/format")
    assert full.get("/v1/notebook").content == out.content


def test_what_was_replaced_is_kept_once_and_can_be_taken_back(full: TestClient) -> None:
    first = full.get("/v1/notebook")
    assert full.post("/v1/notebook/restorations").json()["code"] == "not-found"
    put = full.put("/v1/notebook", json={"format": 1}, headers={"If-Match": first.headers["etag"]})
    assert (put.status_code, put.json()["doughs"]) == (200, 0)
    empty = full.get("/v1/notebook")
    back = full.post("/v1/notebook/restorations")
    assert (back.status_code, back.json()["doughs"]) == (200, 3)
    assert back.headers["etag"] == first.headers["etag"]
    assert full.get("/v1/notebook").content == first.content
    assert full.get("/v1/window").json()["doughs"] == 3
    assert full.post("/v1/notebook/restorations").status_code == 200
    assert full.get("/v1/notebook").content == empty.content
    full.post("/v1/notebook/restorations")
    tag = {"If-Match": first.headers["etag"]}
    assert full.delete("/v1/notebook", headers=tag).status_code == 204
    assert full.post("/v1/notebook/restorations").json()["code"] == "not-found"


def test_a_dough_of_an_unknown_material_is_kept_and_said_to_teach_nothing(client: TestClient) -> None:
    client.put("/v1/materials/nettle-powder", json=NETTLE)
    lines = [{"material": "nettle-powder", "percent": 60}, {"material": "water", "percent": 40}]
    made = client.post("/v1/doughs", json={"recipe": {"lines": lines}, "report": {"feel": "too_wet"}}).json()
    assert client.get("/v1/window").json()["doughs"] == 1
    assert client.delete("/v1/materials/nettle-powder", headers={"If-Match": "*"}).status_code == 204
    told = client.get("/v1/window").json()
    assert (told["doughs"], told["unread"]) == (0, [made["id"]])
    said = {note["id"]: note["text"] for note in told["notes"]}
    assert said["unread-doughs"] == "Nothing is learned from 1 dough of materials nobody knows."
    assert client.post("/v1/corrections", json=dough()).status_code == 200
