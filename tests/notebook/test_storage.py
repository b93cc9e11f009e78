"""Hard times for the file: damage, a newer program, a full disk, no place to write, a server killed at work."""

import hashlib
import os
import signal
import sqlite3
import subprocess
import sys
import threading
from contextlib import closing
from pathlib import Path

import httpx
import pytest
import sqlalchemy as sa
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from fastapi.testclient import TestClient

import api.notebook
from advisor.schema.notebook import StoredDough
from api.app import create_app
from api.notebook import doughs, schema
from api.notebook.callers import LOCAL
from api.notebook.errors import Storage
from api.notebook.precondition import Repeatable
from api.notebook.store import Store
from api.settings import Settings
from helpers.counts import EVERY
from helpers.server import PATIENCE, Served

from .cluster import new_database
from .conftest import dough

WRITERS = 10
WRITES = 10
KILLED_AFTER = range(5, 100, 10 if EVERY else 40)


def digest(file: Path) -> str:
    return hashlib.sha256(file.read_bytes()).hexdigest()


def filled(file: Path, count: int = 3) -> None:
    """Make a notebook of some doughs and leave it as a server that was stopped leaves it."""
    with TestClient(create_app(Settings(notebook=str(file)))) as client:
        for _ in range(count):
            assert client.post("/v1/doughs", json=dough()).status_code == 201


def damaged(file: Path) -> None:
    raw = bytearray(file.read_bytes())
    raw[4096 : len(raw) - 4096] = b"\xff" * (len(raw) - 8192)
    file.write_bytes(raw)


def newer(file: Path) -> None:
    with sqlite3.connect(file) as connection:
        connection.execute("UPDATE alembic_version SET version_num = '9999'")
    connection.close()


def foreign(file: Path) -> None:
    file.unlink()
    with sqlite3.connect(file) as connection:
        connection.execute("CREATE TABLE songs (name TEXT)")
    connection.close()


@pytest.mark.parametrize(
    ("spoil", "words"),
    [
        (damaged, "is damaged"),
        (newer, "newer version"),
        (foreign, "is no notebook"),
        (lambda file: file.write_text("Dear diary"), "is no notebook"),
    ],
    ids=["damaged", "newer", "another-program", "text"],
)
def test_an_unfit_file_is_refused_and_left_as_it_is(file: Path, spoil, words) -> None:
    filled(file)
    spoil(file)
    before = digest(file)
    client = TestClient(create_app(Settings(notebook=str(file))))
    for told in (
        client.get("/v1/doughs"),
        client.post("/v1/doughs", json=dough()),
        client.post("/v1/corrections", json=dough()),
    ):
        assert (told.status_code, told.json()["code"]) == (503, "storage")
        assert words in told.json()["detail"]
        assert "left as it is" in told.json()["detail"]
        assert told.headers["retry-after"]
    with pytest.raises(Storage, match=words):
        Store(str(file)).check()
    with pytest.raises(Storage), TestClient(create_app(Settings(notebook=str(file)))):
        pass
    assert digest(file) == before


def test_a_full_disk_is_said_and_nothing_is_lost(file: Path) -> None:
    settings = Settings(notebook=str(file), notebook_pages_at_most=60)
    with TestClient(create_app(settings)) as client:
        kept = 0
        for _ in range(500):
            told = client.post("/v1/doughs", json=dough(notes="x" * 1500))
            if told.status_code != 201:
                break
            kept += 1
        assert (told.status_code, told.json()["code"]) == (503, "storage")
        assert "make room" in told.json()["detail"]
        assert len(client.get("/v1/doughs?limit=200").json()["items"]) == kept > 5
        assert client.post("/v1/corrections", json=dough()).status_code == 200


def test_a_place_that_cannot_be_written_is_said() -> None:
    client = TestClient(create_app(Settings(notebook="/proc/no-place/notebook.sqlite3")))
    told = client.post("/v1/doughs", json=dough())
    assert (told.status_code, told.json()["code"]) == (503, "storage")
    assert "DOUGH_NOTEBOOK" in told.json()["detail"]
    assert client.post("/v1/corrections", json=dough()).status_code == 200
    with pytest.raises(Storage, match="neither a file nor"):
        Store("://")
    with pytest.raises(Storage, match="SQLite or a database of PostgreSQL"):
        Store("mysql://shop@localhost/notebook")


def test_a_folder_that_cannot_be_written(file: Path) -> None:
    filled(file)
    for left in file.parent.glob("*-*"):
        left.unlink()
    as_somebody = "os.setgid(65534); os.setuid(65534)" if os.geteuid() == 0 else "pass"
    program = (
        "import os, sys\nimport sqlalchemy.dialects.sqlite.pysqlite\n"
        "from api.notebook.store import Store\nfrom api.notebook.errors import Storage\n"
        f"{as_somebody}\n"
        "try:\n    with Store(sys.argv[1]).writing():\n        pass\n"
        "except Storage as error:\n    print(error.detail)\n"
    )
    folders = [one for one in file.parents if one.stat().st_uid == os.geteuid() and "pytest" in str(one)]
    file.chmod(0o444)
    for folder in folders:
        folder.chmod(0o555)
    try:
        told = subprocess.run(
            [sys.executable, "-c", program, str(file)],
            capture_output=True,
            text=True,
            check=False,
            cwd=Path(api.notebook.__file__).parents[2],
        )
    finally:
        for folder in folders:
            folder.chmod(0o700)
    assert "allow this program to write there" in told.stdout, told


def test_the_migrations_lead_to_the_tables(file: Path) -> None:
    with closing(Store(str(file))) as store, store.writing() as connection:
        assert compare_metadata(MigrationContext.configure(connection), schema.metadata) == []
        settings = ("journal_mode", "synchronous", "foreign_keys", "busy_timeout", "application_id")
        found = [connection.execute(sa.text(f"PRAGMA {name}")).scalar_one() for name in settings]
    assert found == ["wal", 2, 1, 5000, schema.APPLICATION]
    steps = ScriptDirectory(str(Path(api.notebook.__file__).parent / "migrations"))
    assert steps.get_heads() == [schema.NEWEST]


def test_two_programs_may_begin_one_notebook_at_once(place: str) -> None:
    stores = [Store(place) for _ in range(8)]
    failed = []

    def begin(store: Store) -> None:
        try:
            with store.writing():
                pass
        except BaseException as error:
            failed.append(error)

    threads = [threading.Thread(target=begin, args=(store,)) for store in stores]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert not failed
    with stores[0].reading() as connection:
        assert connection.execute(sa.text("SELECT count(*) FROM shops")).scalar_one() == 1
        assert compare_metadata(MigrationContext.configure(connection), schema.metadata) == []
    for store in stores:
        store.close()


def test_a_newer_database_is_refused_and_left_as_it_is(cluster: Path) -> None:
    place = new_database(cluster, "newer")
    store = Store(place)
    with store.writing() as connection:
        connection.execute(sa.text("UPDATE alembic_version SET version_num = '9999'"))
    store.close()
    told = TestClient(create_app(Settings(notebook=place))).get("/v1/doughs")
    assert (told.status_code, told.json()["code"]) == (503, "storage")
    assert "newer version" in told.json()["detail"]


def test_a_database_that_does_not_answer_is_said(tmp_path: Path) -> None:
    client = TestClient(create_app(Settings(notebook=f"postgresql://shop:secret@/notebook?host={tmp_path}")))
    told = client.get("/v1/doughs")
    assert (told.status_code, told.json()["code"]) == (503, "storage")
    assert "secret" not in told.text


def killed_at_work(file: Path, after: int) -> set[str]:
    """Kill a server at work after so many doughs, and return those it said it keeps."""
    program = (
        "import sys, uvicorn; from api.app import create_app; from api.settings import Settings\n"
        "uvicorn.run(create_app(Settings(notebook=sys.argv[1])), port=int(sys.argv[2]), log_level='error')"
    )
    with Served(file, ("-c", program, str(file), "{port}")) as server:
        base = server.url.rstrip("/")
        acknowledged: list[str] = []
        enough = threading.Event()

        def write(writer: int) -> None:
            with httpx.Client(base_url=base) as client:
                for number in range(WRITES):
                    try:
                        told = client.post("/v1/doughs", json=dough(notes=f"{after}/{writer}/{number}"))
                    except httpx.TransportError:
                        return
                    if told.status_code == 201:
                        acknowledged.append(told.json()["id"])
                    if len(acknowledged) >= after:
                        enough.set()

        writers = [threading.Thread(target=write, args=(writer,)) for writer in range(WRITERS)]
        for thread in writers:
            thread.start()
        assert enough.wait(PATIENCE)
        os.kill(server.pid, signal.SIGKILL)
        for thread in writers:
            thread.join()
    return set(acknowledged)


@pytest.mark.slow
def test_a_server_killed_at_work_loses_no_dough_it_acknowledged(file: Path) -> None:
    acknowledged: set[str] = set()
    for after in KILLED_AFTER:
        acknowledged |= killed_at_work(file, after)
        with TestClient(create_app(Settings(notebook=str(file)))) as client:
            kept = client.get("/v1/notebook").json()["doughs"]
            assert acknowledged <= {one["id"] for one in kept}
            assert all(one["recipe"]["lines"] and one["report"]["feel"] == "too_wet" for one in kept)
            assert len({one["notes"] for one in kept}) == len(kept)
            assert client.get("/v1/window").json()["doughs"] == len(kept)
    assert len(acknowledged) >= sum(KILLED_AFTER)


def test_the_name_of_a_request_is_kept_for_a_day(place: str) -> None:
    body = StoredDough.model_validate(dough())
    store, day = Store(place), 24 * 3600

    def asked(now: int) -> str:
        with store.writing() as connection:
            return doughs.add(connection, LOCAL, body, Repeatable("bench-1", b"body", now)).id

    first = asked(1_000_000)
    assert asked(1_000_000 + day - 1) == first
    assert asked(1_000_000 + day) != first
    store.close()


def test_reading_where_there_is_no_notebook_yet_leaves_nothing_open(tmp_path: Path) -> None:
    with Store(str(tmp_path / "none.sqlite3")).reading() as connection:
        opened = connection.connection.driver_connection
        assert isinstance(opened, sqlite3.Connection)
    with pytest.raises(sqlite3.ProgrammingError, match="closed"):
        opened.execute("SELECT 1")
