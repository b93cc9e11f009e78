"""Recipes with a past: versions never change, two writers cannot overwrite each other, nothing is lost."""

import sqlite3
from pathlib import Path
from typing import Any

import pytest
from alembic import command
from alembic.config import Config
from fastapi.testclient import TestClient

import api.notebook
from advisor.recipe.notebook import ShopFacts
from api.app import create_app
from api.notebook.file import NotebookFile
from api.settings import Settings

from .conftest import dough, recipe

ADDRESS = "/v1/recipes/nettle-bar"


def kept(client: TestClient, liquid: float, tag: str | None = None, **more: Any) -> Any:
    headers = {} if tag is None else {"If-Match": tag}
    return client.put(ADDRESS, json={"recipe": recipe(liquid), **more}, headers=headers)


def versions(client: TestClient) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = client.get(f"{ADDRESS}/versions").json()["items"]
    return found


def test_a_change_adds_a_version_and_none_ever_changes(client: TestClient) -> None:
    first = kept(client, 26.0, note="as ever")
    assert (first.status_code, first.headers["location"], first.json()["version"]) == (201, ADDRESS, 1)
    before = versions(client)
    second = kept(client, 24.0, first.headers["etag"])
    assert (second.status_code, second.json()["version"]) == (200, 2)
    assert client.get(ADDRESS).content == second.content
    assert client.get(ADDRESS).headers["etag"] == second.headers["etag"]
    assert versions(client)[:1] == before
    moved = {line["material"]: line["change"] for line in versions(client)[1]["changes"]}
    assert moved == {"betaine-30": -2.0, "isethionate-powder": 2.0}
    same = kept(client, 24.0, second.headers["etag"])
    assert (same.status_code, same.content, len(versions(client))) == (200, second.content, 2)


def test_of_two_writers_one_is_refused(client: TestClient) -> None:
    tag = kept(client, 26.0).headers["etag"]
    assert kept(client, 25.0).json()["code"] == "if-match-needed"
    codes = [kept(client, liquid, tag).status_code for liquid in (24.0, 23.0)]
    assert codes == [200, 412]
    assert [one["version"] for one in versions(client)] == [1, 2]
    assert client.get(ADDRESS).json()["recipe"]["lines"][0]["percent"] == 24.0


def test_doughs_name_the_version_they_were_made_of(client: TestClient) -> None:
    tag = kept(client, 26.0).headers["etag"]
    kept(client, 24.0, tag)
    made = client.post("/v1/doughs", json=dough(recipe_key="nettle-bar", version=1, made_on="2031-03-09"))
    assert made.status_code == 201
    assert (made.json()["recipe_key"], made.json()["version"]) == ("nettle-bar", 1)
    assert [one["doughs"] for one in versions(client)] == [
        [{"id": made.json()["id"], "made_on": "2031-03-09", "feel": "too_wet"}],
        [],
    ]
    place = f"/v1/doughs/{made.json()['id']}"
    changed = {**made.json(), "version": 2, "outcome": "workable"}
    assert client.put(place, json=changed, headers={"If-Match": made.headers["etag"]}).status_code == 200
    assert [[one["feel"] for one in of["doughs"]] for of in versions(client)] == [[], ["workable"]]
    for wrong in ({"recipe_key": "nettle-bar", "version": 3}, {"recipe_key": "other", "version": 1}):
        told = client.post("/v1/doughs", json=dough(**wrong)).json()
        assert (told["code"], told["errors"][0]["where"]) == ("invalid-request", "/version")
    assert client.post("/v1/doughs", json=dough(recipe_key="nettle-bar")).status_code == 422


def test_a_forgotten_recipe_leaves_its_doughs_and_its_numbers(client: TestClient) -> None:
    tag = kept(client, 26.0).headers["etag"]
    made = client.post("/v1/doughs", json=dough(recipe_key="nettle-bar", version=1))
    assert client.delete(ADDRESS).json()["code"] == "if-match-needed"
    assert client.delete(ADDRESS, headers={"If-Match": tag}).status_code == 204
    assert client.get(ADDRESS).status_code == client.get(f"{ADDRESS}/versions").status_code == 404
    place = f"/v1/doughs/{made.json()['id']}"
    body, tag = client.get(place).json(), {"If-Match": made.headers["etag"]}
    assert client.put(place, json={**body, "notes": "kept"}, headers=tag).status_code == 200
    assert kept(client, 20.0).json()["version"] == 2


def test_a_version_may_descend_from_another_recipe(client: TestClient) -> None:
    kept(client, 26.0)
    of = {"recipe_key": "nettle-bar", "version": 1}
    body = {"recipe": recipe(22.0), "descends_from": of}
    assert client.put("/v1/recipes/winter-bar", json=body).status_code == 201
    winter = client.get("/v1/recipes/winter-bar/versions").json()["items"][0]
    assert (winter["descends_from"], winter["changes"][0]["change"]) == (of, -4.0)
    names = client.get("/v1/recipes", params={"limit": 1}).json()
    assert ([one["key"] for one in names["items"]], names["next"]) == (["nettle-bar"], "nettle-bar")
    told = client.put("/v1/recipes/third", json={**body, "descends_from": {**of, "version": 9}}).json()
    assert (told["code"], told["errors"][0]["where"]) == ("invalid-request", "/descends_from")


def test_bar_tests_stand_beside_the_versions_and_count_only_beyond_the_spread(client: TestClient) -> None:
    tag = kept(client, 26.0).headers["etag"]
    tag = kept(client, 24.0, tag).headers["etag"]
    kept(client, 23.0, tag)

    def tested(version: int, **values: list[float]) -> Any:
        tests = [{"test": test, "values": figures, "dried_days": 20} for test, figures in values.items()]
        body = dough(recipe_key="nettle-bar", version=version, bar_tests=tests)
        return client.post("/v1/doughs", json=body)

    assert tested(1, mush=[6.0, 6.4, 6.2], wear=[0.30]).status_code == 201
    tested(2, mush=[4.0, 4.5], wear=[0.30])
    tested(2, mush=[4.1])
    tested(3, mush=[4.3, 4.6, 4.4], lather=[80.0])
    told = [
        [(one["test"], one["mean"], one["bars"], one["against_last"]) for one in of["bar_tests"]]
        for of in versions(client)
    ]
    assert told == [
        [("mush", 6.2, 3, None), ("wear", 0.3, 1, None)],
        [("mush", 4.2, 3, "less"), ("wear", 0.3, 1, "same")],
        [("lather", 80.0, 1, None), ("mush", 4.4333, 3, "same")],
    ]
    assert tested(1, mush=[]).status_code == 422


@pytest.mark.parametrize(
    ("body", "code"),
    [
        ({"recipe": {"lines": [{"material": "kaolin", "percent": 90}]}}, "invalid-recipe"),
        ({"recipe": {"lines": [{"material": "kaolim", "percent": 100}]}}, "unknown-material"),
        ({"recipe": recipe(), "version": 4}, "invalid-request"),
    ],
)
def test_what_is_no_recipe_is_refused(client: TestClient, body: Any, code: str) -> None:
    assert client.put(ADDRESS, json=body).json()["code"] == code
    assert client.get("/v1/recipes").json()["items"] == []


def test_export_and_import_carry_the_past(client: TestClient) -> None:
    tag = kept(client, 26.0, note='Öl, "quoted"\nand a line').headers["etag"]
    kept(client, 24.0, tag)
    client.post("/v1/doughs", json=dough(recipe_key="nettle-bar", version=2))
    out, past = client.get("/v1/notebook"), versions(client)
    tables = client.get("/v1/notebook", headers={"Accept": "application/zip"}).content
    assert (out.json()["format"], len(out.json()["recipes"])) == (2, 2)
    headers = {"If-Match": out.headers["etag"]}
    assert client.delete("/v1/notebook", headers=headers).status_code == 204
    assert client.get("/v1/recipes").json()["items"] == []
    assert client.put("/v1/notebook", json=out.json()).json()["recipes"] == 2
    assert (client.get("/v1/notebook").content, versions(client)) == (out.content, past)
    zipped = {"If-Match": out.headers["etag"], "Content-Type": "application/zip"}
    assert client.put("/v1/notebook", content=tables, headers=zipped).status_code == 200
    assert (client.get("/v1/notebook").content, versions(client)) == (out.content, past)


def test_the_first_format_is_still_taken_and_leaves_recipes_alone(client: TestClient) -> None:
    kept(client, 26.0)
    client.post("/v1/doughs", json=dough())
    tag = {"If-Match": client.get("/v1/notebook").headers["etag"]}
    put = client.put("/v1/notebook", json={"format": 1, "doughs": [dough(), dough()]}, headers=tag)
    assert (put.status_code, put.json()["doughs"], put.json()["recipes"]) == (200, 2, 1)
    assert len(versions(client)) == 1
    back = client.post("/v1/notebook/restorations")
    assert (back.json()["doughs"], back.json()["recipes"]) == (1, 1)
    known = {"format": 1, "recipes": client.get("/v1/notebook").json()["recipes"]}
    assert client.put("/v1/notebook", json=known, headers=tag).status_code == 422


STORED = {
    "keys": ("id, shop, digest, label, made_at, role", "('k', 'local', 'd', 'bench', 5, 'owner')"),
    "materials": ("shop, key, body", """('local', 'own-clay', '{"key":"own-clay"}')"""),
    "lots": ("shop, material, lot, body", """('local', 'kaolin', 'K 1', '{"stock_grams":900.0}')"""),
    "uptake_tests": ("shop, material, body", """('local', 'kaolin', '{"material":"kaolin"}')"""),
    "doughs": ("place, shop, id, tag, body", """(7, 'local', 'd-1', 't', '{"id":"d-1"}')"""),
    "dough_lots": ("dough, material, lot", "(7, 'kaolin', 'K 1')"),
    "answered": ('shop, "key", digest, address, made_at, body', "('local', 'a', 'd', 'x', 5, '{}')"),
    "replaced": ("shop, made_at, body", """('local', 5, '{"format":1}')"""),
    "links": ("digest, shop, expires_at", "('l', 'local', 9)"),
}


def rows(file: Path) -> dict[str, list[tuple[Any, ...]]]:
    with sqlite3.connect(file) as opened:
        found = {
            table: opened.execute(f"SELECT {columns} FROM {table}").fetchall()  # noqa: S608
            for table, (columns, _) in STORED.items()
        }
    opened.close()
    return found


def test_a_notebook_of_the_last_form_is_brought_up_with_nothing_lost(file: Path) -> None:
    engine = NotebookFile(file, None)._engine(file)
    with engine.connect() as connection, connection.begin():
        config = Config(attributes={"connection": connection})
        config.set_main_option("script_location", str(Path(api.notebook.__file__).parent / "migrations"))
        command.upgrade(config, "0002")
        for table, (columns, values) in STORED.items():
            connection.exec_driver_sql(f"INSERT INTO {table} ({columns}) VALUES {values}")  # noqa: S608
    engine.dispose()
    before = rows(file)
    assert all(before.values())
    with TestClient(create_app(Settings(notebook=str(file)))) as client:
        assert client.get("/v1/recipes").status_code == 401
    assert rows(file) == before
    with sqlite3.connect(file) as opened:
        assert opened.execute("SELECT recipe_key, version FROM doughs").fetchall() == [(None, None)]
        assert opened.execute("SELECT taken_grams FROM dough_lots").fetchall() == [(0.0,)]
    opened.close()
    assert rows(file.with_name("notebook.sqlite3.before-0003")) == before


def test_a_label_and_a_costing_take_what_the_record_and_the_shop_say(tmp_path: Path) -> None:
    facts = ShopFacts(responsible="Weir Works, 1 Lane", currency="EUR")
    settings = Settings(notebook=str(tmp_path / "notebook.sqlite3"), facts=facts)
    made = dough(batch="41", bars=12, packed_grams=966.0)
    with TestClient(create_app(settings)) as client:
        costed = {"recipe": made["recipe"], "batch_grams": 1000.0, "dried_bar_grams": 80.0}
        assert client.post("/v1/costings", json=costed).json()["currency"] == "EUR"
        name = client.post("/v1/doughs", json=made).json()["id"]
        assert client.post("/v1/costings", json={**costed, "currency": "CHF"}).json()["currency"] == "CHF"
        assert client.post("/v1/costings", json=costed).json()["currency"] == "EUR"
        answer = client.get(f"/v1/doughs/{name}/label?market=eu")
        assert client.get(f"/v1/doughs/{name}/label").status_code == 422
        assert client.get("/v1/doughs/d-0/label?market=eu").status_code == 404
    says = {one["id"]: one["says"] for one in answer.json()["filled"]}
    assert (says["responsible-person"], says["batch"]) == ("Weir Works, 1 Lane", "Batch 41")
    assert says["content"] == "80.5 g" and says["durability"] is None
