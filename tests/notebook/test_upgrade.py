"""A notebook that an earlier version wrote: brought up, answered from, backed up and put back, on both stores."""

import json
import re
import sqlite3
import subprocess
from contextlib import closing
from pathlib import Path
from typing import Any

import sqlalchemy as sa
from alembic import command
from alembic.config import Config
from fastapi.testclient import TestClient

import api.notebook
from api.app import create_app
from api.notebook.backup import back_up, restore
from api.notebook.store import Store
from api.settings import Settings

from .cluster import new_database, program
from .conftest import dough, recipe
from .test_keys import bearer

FIRST_FORM = (Path(__file__).parent / "first_form.sql").read_text(encoding="utf-8")
KEY = bearer("the-key-of-the-first-form")
ROWS = {"materials": 1, "lots": 1, "uptake_tests": 1, "doughs": 5, "keys": 1}


def written_first(place: str) -> list[dict[str, Any]]:
    """Lay the notebook of the first form at a place; return the doughs it holds, oldest first."""
    if "://" in place:
        engine = sa.create_engine(Store(place).url)
        with engine.begin() as connection:
            config = Config(attributes={"connection": connection})
            config.set_main_option("script_location", str(Path(api.notebook.__file__).parent / "migrations"))
            command.upgrade(config, "0001")
            rows = re.findall(r'^INSERT INTO "(?!alembic|sqlite|shops).*;$', FIRST_FORM, re.MULTILINE)
            for row in sorted(rows, key=lambda row: '"doughs"' not in row):
                connection.exec_driver_sql(row)
            connection.exec_driver_sql("ALTER SEQUENCE doughs_place_seq RESTART WITH 6")
        engine.dispose()
    else:
        with closing(sqlite3.connect(place)) as opened:
            opened.executescript(FIRST_FORM)
    return [json.loads(body) for body in re.findall(r"INSERT INTO \"doughs\" .*'(\{.*\})'\);", FIRST_FORM)]


def served(place: str | Path) -> TestClient:
    return TestClient(create_app(Settings(notebook=str(place))))


def doughs_of(client: TestClient) -> list[dict[str, Any]]:
    items = client.get("/v1/doughs", headers=KEY).json()["items"]
    return [{field: value for field, value in one.items() if value not in (None, [])} for one in items]


def test_a_notebook_of_the_first_form_is_copied_before_it_is_brought_up(file: Path) -> None:
    written_first(str(file))
    with served(file) as client:
        assert client.get("/v1/doughs").status_code == 401
    copy = file.with_name("notebook.sqlite3.before-0003")
    with closing(sqlite3.connect(copy)) as opened:
        assert opened.execute("SELECT version_num FROM alembic_version").fetchall() == [("0001",)]
    with closing(sqlite3.connect(file)) as opened:
        assert opened.execute("SELECT label, role FROM keys").fetchall() == [("house", "owner")]
    assert restore(Settings(notebook=str(file)), copy).backup.rows["keys"] == 1


def test_everything_of_the_first_form_is_there_counts_and_goes_on(place: str) -> None:
    written = written_first(place)
    with served(place) as client:
        assert client.get("/ready").status_code == 200
        assert doughs_of(client) == written
        lots = client.get("/v1/materials/betaine-30/lots", headers=KEY).json()["items"]
        assert [(one["lot"], one["stock_grams"]) for one in lots] == [("B-1", 2400)]
        taught = client.get("/v1/window", headers=KEY).json()
        assert taught["doughs"] == len(written) + sum("outcome" in one for one in written)
        asked = {"recipe": written[0]["recipe"], "report": written[0]["report"]}
        corrected = client.post("/v1/corrections", json=asked, headers=KEY).json()
        assert "my-rye" in {one["material"] for one in corrected["recipe"]["lines"]}
        weighed = {"recipe": recipe(), "lots": {"betaine-30": "B-1"}, "batch_grams": 500}
        assert client.post("/v1/doughs", json=weighed, headers=KEY).status_code == 201
        assert len(doughs_of(client)) == len(written) + 1
        [lot] = client.get("/v1/stock", headers=KEY).json()["items"]
        assert lot["on_hand"] == 2400 - 500 * 0.26
        forgotten = client.delete(f"/v1/doughs/{written[0]['id']}", headers=KEY | {"If-Match": "*"})
        assert forgotten.status_code == 204
        assert client.get("/v1/stock", headers=KEY).json()["items"] == [lot]


def test_a_backup_made_after_it_comes_back_and_so_does_a_file_of_the_first_form(
    place: str, tmp_path: Path
) -> None:
    written, settings = written_first(place), Settings(notebook=place)
    made = back_up(settings, tmp_path / "after")
    assert {name: made.rows[name] for name in ROWS} == ROWS
    first = tmp_path / "first"
    written_first(str(first))
    for source in (tmp_path / "after", first):
        with served(place) as client:
            client.post("/v1/doughs", json=dough(), headers=KEY)
            assert len(doughs_of(client)) == len(written) + 1
        restore(settings, source)
        with served(place) as client:
            assert doughs_of(client) == written


def test_a_dump_from_before_comes_back_by_psql_as_the_guide_says(cluster: Path, tmp_path: Path) -> None:
    guide = (Path(api.notebook.__file__).parents[1] / "help/pages/upgrading.md").read_text(encoding="utf-8")
    dump, back = "pg_dump -f before.sql ADDRESS", "psql -v ON_ERROR_STOP=1 -f before.sql ITS-ADDRESS"
    assert dump in guide and back in guide

    def typed(command: str, address: str) -> int:
        name, *words = command.split()
        words = [address if "ADDRESS" in word else word for word in words]
        return subprocess.run(
            [program(name), *words], cwd=tmp_path, check=False, capture_output=True
        ).returncode

    before, empty = new_database(cluster, "dumped"), new_database(cluster, "put-back")
    written = written_first(before)
    assert typed(dump, before) == 0
    with served(before) as client:
        assert client.post("/v1/doughs", json=dough(), headers=KEY).status_code == 201
    assert typed(back, before) != 0
    assert typed(back, empty) == 0
    with served(empty) as client:
        assert doughs_of(client) == written
        assert client.post("/v1/doughs", json=dough(), headers=KEY).status_code == 201
        assert len(doughs_of(client)) == len(written) + 1
