"""Tables go to spreadsheets as CSV: of every calculation, and of every list."""

import csv
import io
import re
from typing import Any

import pytest
from fastapi.testclient import TestClient

from api.app import create_app
from api.samples import Sample, samples
from api.settings import Settings

ACCEPT = {"Accept": "text/csv"}
FIGURE = re.compile(r"-?\d+(\.\d+)?")
SHOWN = list({one.path: one for one in samples() if one.status == 200 and one.path != "/v1/sweeps"}.values())


def table(text: str) -> list[list[str]]:
    rows = list(csv.reader(io.StringIO(text), strict=True))
    assert len({len(row) for row in rows}) == 1
    assert len(set(rows[0])) == len(rows[0])
    return rows


@pytest.mark.parametrize("sample", SHOWN, ids=lambda one: one.path.rpartition("/")[2])
def test_every_calculation_answers_its_table(client: TestClient, sample: Sample) -> None:
    answer = client.post(sample.path, json=dict(sample.request), headers=ACCEPT)
    assert answer.status_code == 200
    assert answer.headers["content-type"] == "text/csv; charset=utf-8"
    assert answer.headers["vary"] == "Accept"
    head, *rows = table(answer.text)
    assert rows and all(name.strip() == name and name for name in head)
    assert any(FIGURE.fullmatch(cell) for row in rows for cell in row)


def test_a_correction_is_one_table_of_old_and_new(client: TestClient) -> None:
    sample = next(one for one in SHOWN if one.path == "/v1/corrections")
    head, *rows = table(client.post(sample.path, json=dict(sample.request), headers=ACCEPT).text)
    assert head == ["Material", "old %", "new %", "change"]
    new = {line["percent"] for line in sample.answer["recipe"]["lines"]}
    assert {float(row[2]) for row in rows[:-1]} == new
    assert sum(float(row[3] or 0) for row in rows) == pytest.approx(0, abs=1e-9)


def lists(client: TestClient) -> list[str]:
    described = client.get("/openapi.json").json()["paths"]
    return [
        path
        for path, methods in described.items()
        if "text/csv" in methods.get("get", {}).get("responses", {}).get("200", {}).get("content", {})
    ]


def test_every_list_says_that_it_is_a_table(client: TestClient) -> None:
    described = client.get("/openapi.json").json()
    shapes = described["components"]["schemas"]
    for path, methods in described["paths"].items():
        told = methods.get("get", {}).get("responses", {}).get("200", {}).get("content", {})
        name = told.get("application/json", {}).get("schema", {}).get("$ref", "").rpartition("/")[2]
        is_list = shapes.get(name, {}).get("properties", {}).get("items", {}).get("type") == "array"
        assert ("text/csv" in told) == is_list, path


@pytest.fixture
def shop(tmp_path: Any) -> Any:
    with TestClient(create_app(Settings(notebook=str(tmp_path / "shop.sqlite3")))) as client:
        lines = [{"material": "isethionate-powder", "percent": 70}, {"material": "betaine-30", "percent": 30}]
        for name in ("=1+1", "Nettle; bar", "@here"):
            dough = {"recipe": {"name": name, "lines": lines}, "report": {"feel": "too_wet"}}
            assert client.post("/v1/doughs", json=dough).status_code == 201
        assert client.put("/v1/recipes/bar", json={"recipe": {"lines": lines}}).status_code == 201
        lot = {"active": 31.2, "stock_grams": 2400.0}
        assert client.put("/v1/materials/betaine-30/lots/B-1", json=lot).status_code == 201
        yield client


def test_every_list_answers_a_row_a_thing_and_the_same_columns_when_it_is_empty(
    shop: TestClient, client: TestClient
) -> None:
    for path in lists(shop):
        here = path.format(key="bar" if "recipes" in path else "betaine-30")
        told, known = shop.get(here, headers=ACCEPT), shop.get(here)
        if known.status_code != 200:
            assert told.status_code == known.status_code
            continue
        head, *rows = table(told.text)
        assert len(rows) == len(known.json()["items"]), path
        assert {name.partition(".")[0] for name in head} >= {
            name for item in known.json()["items"] for name in item
        }
    empty, full = (one.get("/v1/doughs", headers=ACCEPT).text for one in (client, shop))
    assert table(empty) == table(full)[:1]


def test_no_cell_of_a_list_is_a_formula_and_the_link_leads_on(shop: TestClient) -> None:
    seen, address = [], "/v1/doughs?limit=1"
    while address:
        answer = shop.get(address, headers=ACCEPT)
        head, row = table(answer.text)
        seen.append(row[head.index("recipe.name")])
        address = answer.links.get("next", {}).get("url", "")
    assert seen == ["'=1+1", "Nettle; bar", "'@here"]


def test_the_tag_is_that_of_the_table(shop: TestClient) -> None:
    told = shop.get("/v1/stock", headers=ACCEPT)
    assert told.headers["etag"] != shop.get("/v1/stock").headers["etag"]
    again = shop.get("/v1/stock", headers=ACCEPT | {"If-None-Match": told.headers["etag"]})
    assert (again.status_code, again.headers["vary"]) == (304, "Accept")


def test_one_thing_is_no_table(shop: TestClient) -> None:
    assert shop.get("/v1/recipes/bar", headers=ACCEPT).status_code == 406
    assert shop.get("/v1/window", headers=ACCEPT).status_code == 406
