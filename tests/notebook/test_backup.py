"""Backups: one consistent file at any time; restored safely; what no notebook is refused aloud."""

import shutil
import sqlite3
import subprocess
import sys
import threading
import time
from contextlib import closing
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from advisor.cli.main import main
from api.app import create_app
from api.http.errors import Busy
from api.notebook.backup import back_up, restore
from api.notebook.errors import FileRefused, Storage
from api.notebook.nightly import keep_copy
from api.notebook.store import Store
from api.settings import Settings

from .conftest import NETTLE, dough
from .test_keys import bearer


def ids(client: TestClient, **headers: str) -> set[str]:
    return {one["id"] for one in client.get("/v1/notebook", headers=headers).json()["doughs"]}


def served(place: str | Path) -> TestClient:
    return TestClient(create_app(Settings(notebook=str(place))))


def test_a_backup_holds_what_was_acknowledged_before_it_began(
    client: TestClient, place: str, tmp_path: Path
) -> None:
    client.put("/v1/materials/nettle-powder", json=NETTLE)
    acknowledged: list[str] = []
    stop = threading.Event()

    def write() -> None:
        while not stop.is_set():
            acknowledged.append(client.post("/v1/doughs", json=dough()).json()["id"])

    writer = threading.Thread(target=write)
    writer.start()
    try:
        for number in range(5):
            time.sleep(0.05)
            before = set(acknowledged)
            target = tmp_path / f"{number}.sqlite3"
            made = back_up(Settings(notebook=place), target)
            assert made.size == target.stat().st_size
            assert made.rows["materials"] == 1
            with served(target) as opened:
                assert before <= ids(opened)
                assert len(ids(opened)) == made.rows["doughs"]
    finally:
        stop.set()
        writer.join()
    assert not [one for one in tmp_path.iterdir() if one.suffix == ".part"]


def test_what_was_backed_up_comes_back_and_what_was_there_is_kept(
    client: TestClient, place: str, tmp_path: Path
) -> None:
    client.post("/v1/doughs", json=dough(lots={"kaolin": "K-1"}))
    assert client.put("/v1/recipes/nettle-bar", json={"recipe": dough()["recipe"]}).status_code == 201
    key = client.post("/v1/keys", json={"label": "house"}).json()["key"]
    house = bearer(key)
    before = client.get("/v1/notebook", headers=house).content
    target = tmp_path / "backup.sqlite3"
    raw = client.get("/v1/backup", headers=house)
    assert raw.headers["content-type"] == "application/vnd.sqlite3"
    target.write_bytes(raw.content)
    client.post("/v1/doughs", json=dough(), headers=house)
    after = client.get("/v1/notebook", headers=house).content
    with pytest.raises(Busy, match="stop it"):
        restore(Settings(notebook=place), target)
    client.__exit__(None, None, None)
    foreseen = restore(Settings(notebook=place), target, dry_run=True)
    done = restore(Settings(notebook=place), target)
    assert foreseen == done
    [kept] = done.kept
    for where, expected in ((place, before), (kept, after)):
        with served(where) as opened:
            assert opened.get("/v1/notebook", headers=house).content == expected
            assert opened.get("/v1/recipes/nettle-bar", headers=house).json()["version"] == 1
            assert opened.get("/v1/doughs").status_code == 401
            assert opened.post("/v1/doughs", json=dough(), headers=house).status_code == 201


def test_a_backup_is_for_the_owner_of_the_server_alone(client: TestClient) -> None:
    house = bearer(client.post("/v1/keys", json={"label": "house"}).json()["key"])
    guest = bearer(client.post("/v1/shops", json={"name": "Guest"}, headers=house).json()["key"])
    told = client.post("/v1/keys", json={"label": "bench", "role": "bench"}, headers=house)
    bench = bearer(told.json()["key"])
    answers = [client.get("/v1/backup", headers=one) for one in (house, guest, bench, {})]
    assert [one.status_code for one in answers] == [200, 404, 403, 401]


def test_before_anything_is_stored_a_backup_is_an_empty_notebook(
    at_file: TestClient, file: Path, tmp_path: Path
) -> None:
    target = tmp_path / "backup.sqlite3"
    before = at_file.get("/v1/notebook").content
    answer = at_file.get("/v1/backup")
    assert answer.status_code == 200, answer.text
    assert not file.exists(), "a reading made a notebook"
    target.write_bytes(answer.content)
    assert not any(restore(Settings(notebook=str(file)), target).backup.rows.values())
    with served(file) as opened:
        assert opened.get("/v1/notebook").content == before


def test_no_backup_takes_the_place_of_a_file(at_file: TestClient, file: Path, tmp_path: Path) -> None:
    with pytest.raises(FileRefused, match="nothing to back up"):
        back_up(Settings(notebook=str(file)), tmp_path / "new")
    at_file.post("/v1/doughs", json=dough())
    for taken in (file, tmp_path):
        with pytest.raises(FileRefused, match="already"):
            back_up(Settings(notebook=str(file)), taken)


def test_the_file_alone_is_whole_two_seconds_after_the_last_write(
    at_file: TestClient, file: Path, tmp_path: Path
) -> None:
    for _ in range(20):
        at_file.post("/v1/doughs", json=dough())
    time.sleep(2)
    assert Path(f"{file}-wal").stat().st_size == 0
    copy = tmp_path / "copy.sqlite3"
    shutil.copyfile(file, copy)
    with served(copy) as opened:
        assert len(ids(opened)) == 20


def emptied(file: Path) -> None:
    file.write_bytes(b"")


def without_tables(file: Path) -> None:
    file.unlink()
    with sqlite3.connect(file) as connection:
        connection.execute("PRAGMA journal_mode=WAL")
        connection.execute("PRAGMA user_version=1")
    connection.close()


@pytest.mark.parametrize("spoil", [emptied, without_tables])
def test_a_file_without_tables_is_no_empty_notebook(file: Path, spoil) -> None:
    Store(str(file)).close()
    with closing(Store(str(file))) as store, store.writing():
        pass
    for left in file.parent.glob("*-*"):
        left.unlink()
    spoil(file)
    before = file.read_bytes()
    client = TestClient(create_app(Settings(notebook=str(file))))
    for told in (client.get("/v1/doughs"), client.post("/v1/doughs", json=dough()), client.get("/ready")):
        assert (told.status_code, told.json()["code"]) == (503, "storage")
    assert "holds no tables" in client.get("/v1/doughs").json()["detail"]
    assert file.read_bytes() == before
    with pytest.raises(Storage, match="holds no tables"):
        restore(Settings(notebook=str(file.with_name("other"))), file)


def moved(file: Path) -> None:
    file.rename(file.with_name("moved"))


def erased(file: Path) -> None:
    file.unlink()


def replaced(file: Path) -> None:
    copy = file.with_name("copy")
    shutil.copyfile(file, copy)
    copy.replace(file)


@pytest.mark.parametrize("spoil", [moved, erased, replaced])
def test_a_file_that_was_moved_away_is_neither_read_nor_written(file: Path, spoil) -> None:
    with served(file) as client:
        made = client.post("/v1/keys", json={"label": "house"}).json()
        house = bearer(made["key"])
        client.post("/v1/doughs", json=dough(), headers=house)
        spoil(file)
        there = file.exists()
        for headers in (house, {}):
            told = [
                client.post("/v1/doughs", json=dough(), headers=headers),
                client.get("/v1/doughs", headers=headers),
                client.post("/v1/corrections", json=dough(), headers=headers),
                client.get("/v1/backup", headers=headers),
                client.get("/ready"),
            ]
            assert [one.json()["code"] for one in told] == ["storage"] * 5
        assert "no longer the one" in told[0].json()["detail"]
        assert str(file.parent) not in told[-1].text
        assert file.exists() == there


def test_a_file_that_was_moved_back_is_read_again(file: Path) -> None:
    with served(file) as client:
        client.post("/v1/doughs", json=dough())
        moved(file)
        assert client.post("/v1/doughs", json=dough()).status_code == 503
        file.with_name("moved").rename(file)
        assert client.post("/v1/doughs", json=dough()).status_code == 201
        assert len(ids(client)) == 2


def test_no_notebook_is_begun_beside_the_write_ahead_file_of_another(file: Path) -> None:
    left = Path(f"{file}-wal")
    left.write_bytes(b"x" * 4152)
    with TestClient(create_app(Settings(notebook=str(file) + "x"))) as elsewhere:
        assert elsewhere.post("/v1/doughs", json=dough()).status_code == 201
    told = TestClient(create_app(Settings(notebook=str(file)))).post("/v1/doughs", json=dough())
    assert (told.json()["code"], file.exists()) == ("storage", False)
    assert "write-ahead file" in told.json()["detail"]


KILLED = """
import os, sys
from fastapi.testclient import TestClient
from api.app import create_app
from api.settings import Settings
sys.path.insert(0, "tests")
from tests.notebook.conftest import dough
client = TestClient(create_app(Settings(notebook=sys.argv[1])))
for number in range(3):
    client.post("/v1/doughs", json=dough(notes="new"))
os.kill(os.getpid(), 9)
"""


def test_a_leftover_write_ahead_file_does_not_undo_what_is_restored(file: Path, tmp_path: Path) -> None:
    with served(file) as client:
        for _ in range(3):
            client.post("/v1/doughs", json=dough(notes="old"))
    backup = tmp_path / "backup.sqlite3"
    back_up(Settings(notebook=str(file)), backup)
    root = Path(__file__).parents[2]
    subprocess.run([sys.executable, "-c", KILLED, str(file)], cwd=root, check=False)
    assert Path(f"{file}-wal").stat().st_size > 0
    done = restore(Settings(notebook=str(file)), backup)
    with served(file) as opened:
        assert {one["notes"] for one in opened.get("/v1/notebook").json()["doughs"]} == {"old"}
    with served(done.kept[0]) as opened:
        assert len(ids(opened)) == 6


def test_a_damaged_notebook_is_moved_aside_with_what_belongs_to_it(file: Path, tmp_path: Path) -> None:
    with served(file) as client:
        client.post("/v1/doughs", json=dough())
        backup = tmp_path / "backup.sqlite3"
        back_up(Settings(notebook=str(file)), backup)
    file.write_bytes(b"\0" * 9000)
    Path(f"{file}-wal").write_bytes(b"ahead")
    done = restore(Settings(notebook=str(file)), backup)
    kept = {one.name: one.read_bytes() for one in done.kept}
    assert kept["notebook.sqlite3.before-restore"] == b"\0" * 9000
    assert kept["notebook.sqlite3-wal.before-restore"] == b"ahead"
    assert not Path(f"{file}-wal").exists()
    again = restore(Settings(notebook=str(file)), backup)
    assert "notebook.sqlite3.before-restore-2" in [one.name for one in again.kept]
    with served(file) as opened:
        assert len(ids(opened)) == 1


OPEN_ELSEWHERE = """
import sqlite3, sys
opened = sqlite3.connect(sys.argv[1])
opened.execute("SELECT count(*) FROM doughs").fetchone()
print("open", flush=True)
sys.stdin.read()
"""


def test_a_damaged_notebook_is_not_replaced_while_somebody_has_it_open(file: Path, tmp_path: Path) -> None:
    with served(file) as client:
        client.post("/v1/doughs", json=dough())
        backup = tmp_path / "backup.sqlite3"
        back_up(Settings(notebook=str(file)), backup)
    command = [sys.executable, "-c", OPEN_ELSEWHERE, str(file)]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as other:
        assert other.stdout is not None
        assert other.stdout.readline() == "open\n"
        with file.open("r+b") as damaged:
            damaged.seek(4096)
            damaged.write(b"\xff" * 8192)
        with pytest.raises(Busy, match="stop it"):
            restore(Settings(notebook=str(file)), backup)
        other.communicate("")
    restore(Settings(notebook=str(file)), backup)
    with served(file) as opened:
        assert len(ids(opened)) == 1


@pytest.mark.parametrize("words", [b"Dear diary", b"SQLite format 3\x00" + b"\0" * 5000])
def test_what_is_no_backup_is_not_restored(at_file: TestClient, file: Path, tmp_path: Path, words) -> None:
    at_file.post("/v1/doughs", json=dough())
    source = tmp_path / "source"
    source.write_bytes(words)
    for dry in (True, False):
        with pytest.raises(Storage, match="Nothing was restored"):
            restore(Settings(notebook=str(file)), source, dry_run=dry)
    with pytest.raises(FileRefused):
        restore(Settings(notebook=str(file)), tmp_path / "missing")
    assert len(ids(at_file)) == 1


def test_a_copy_is_kept_for_each_day_and_the_newest_few(place: str, tmp_path: Path) -> None:
    import datetime

    store, folder = Store(place), tmp_path / "copies"
    day = datetime.date(2031, 3, 9)
    if store.file is not None:
        assert keep_copy(store, folder, 3, day) is None
    with store.writing():
        pass
    made = [keep_copy(store, folder, 3, day + datetime.timedelta(number // 2)) for number in range(12)]
    assert [one is None for one in made] == [False, True] * 6
    kept = sorted(folder.iterdir())
    assert [one.stem[-10:] for one in kept] == ["2031-03-12", "2031-03-13", "2031-03-14"]
    store.close()
    for one in kept:
        with closing(Store(str(one))) as copy:
            copy.check()


def test_the_server_keeps_the_copy_of_the_day_if_asked(file: Path, tmp_path: Path) -> None:
    with closing(Store(str(file))) as store, store.writing():
        pass
    settings = Settings(notebook=str(file), nightly_copies=2, copies_folder=str(tmp_path / "copies"))
    with TestClient(create_app(settings)):
        for _ in range(100):
            if list(tmp_path.glob("copies/*.sqlite3")):
                break
            time.sleep(0.05)
    assert len(list(tmp_path.glob("copies/*.sqlite3"))) == 1


def test_backup_and_restore_on_the_command_line(
    file: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("DOUGH_NOTEBOOK", str(file))
    target = str(tmp_path / "b.sqlite3")
    with served(file) as client:
        client.post("/v1/doughs", json=dough())
    assert main(["backup", target]) == 0
    said = capsys.readouterr().out
    assert "1 dough," in said and f"{Path(target).stat().st_size} bytes" in said
    before = file.read_bytes()
    assert main(["restore", target, "--dry-run"]) == 0
    assert main(["restore", target]) == 2
    assert file.read_bytes() == before
    assert main(["restore", target, "--yes"]) == 0
    assert "before-restore" in capsys.readouterr().out
    assert main(["restore", str(file.with_name("none")), "--yes"]) == 2
