"""Failures of storage: one line in the log each, with cause and caller; a start that cannot be is one sentence."""

import json
import socket
import sqlite3
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from advisor.cli.main import main
from api.app import create_app
from api.settings import Settings
from helpers.server import Served, free_port

from .cluster import emptied_database
from .conftest import dough
from .test_keys import bearer


def lines(caplog: pytest.LogCaptureFixture) -> list[dict[str, object]]:
    told = [json.loads(one.getMessage()) for one in caplog.records if one.name == "api"]
    caplog.clear()
    return [one for one in told if one["event"] == "storage"]


def test_a_failure_of_storage_is_one_line_with_cause_and_caller(
    file: Path, caplog: pytest.LogCaptureFixture
) -> None:
    caplog.set_level("INFO")
    settings = Settings(notebook=str(file), notebook_pages_at_most=60)
    with TestClient(create_app(settings)) as client:
        made = client.post("/v1/keys", json={"label": "secret-label"}).json()
        house = bearer(made["key"])
        for _ in range(500):
            told = client.post("/v1/doughs", json=dough(notes="secret-note " * 120), headers=house)
            if told.status_code != 201:
                break
        [line] = lines(caplog)
        assert (told.status_code, line["caller"], line["cause"]) == (
            503,
            made["id"],
            "OperationalError SQLITE_FULL",
        )
        assert "secret" not in json.dumps(line) and made["key"] not in json.dumps(line)
        assert client.get("/ready").status_code == 200
        file.rename(file.with_name("moved"))
        for path in ("/v1/doughs", "/ready"):
            told = client.get(path, headers=house)
            [line] = lines(caplog)
            assert told.json()["code"] == "storage"
            assert line["caller"] == "testclient" and line["cause"] and line["request_id"]


def test_what_stops_a_start_is_one_sentence(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def started(port: int, **environment: str) -> tuple[int, str]:
        with monkeypatch.context() as here:
            here.setattr("uvicorn.run", lambda *_, **__: pytest.fail(f"It starts with {environment}."))
            here.setenv("DOUGH_NOTEBOOK", "none")
            for name, value in environment.items():
                here.setenv(name, value)
            return main(["serve", "--port", str(port)]), capsys.readouterr().err

    diary, empty, foreign = (tmp_path / name for name in ("diary", "empty", "foreign"))
    diary.write_text("Dear diary")
    empty.touch()
    with sqlite3.connect(foreign) as connection:
        connection.execute("CREATE TABLE songs (name TEXT)")
    connection.close()
    cases = [({"DOUGH_NOTEBOOK": str(one)}, str(one)) for one in (diary, empty, foreign)]
    cases += [
        ({"DOUGH_NOTEBOOK": "mysql://x"}, "PostgreSQL"),
        ({"DOUGH_IN_FLIGHT": "many"}, "DOUGH_IN_FLIGHT"),
    ]
    for environment, words in cases:
        code, said = started(free_port(), **environment)
        assert code in (2, 4), said
        assert words in said and said.count("\n") == 1 and "Traceback" not in said
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        code, said = started(taken.getsockname()[1], DOUGH_NOTEBOOK=str(tmp_path / "new"))
    assert code == 2 and "--port" in said and said.count("\n") == 1


def test_the_password_of_a_database_is_shown_by_no_verb_and_no_server(
    cluster: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    with_password = emptied_database(cluster, "hidden").replace("notebook@", "notebook:s3cret@")
    monkeypatch.setenv("DOUGH_NOTEBOOK", with_password)
    (tmp_path / "dough.json").write_text(json.dumps(dough()), encoding="utf-8")
    verbs = (["note", str(tmp_path / "dough.json")], ["window"], ["backup", str(tmp_path / "kept")])
    assert [main(verb) for verb in verbs] == [0, 0, 0]
    told = capsys.readouterr()
    with Served(tmp_path / "unused", DOUGH_NOTEBOOK=with_password) as server:
        said = server.said()
    assert "Notebook: postgresql:///hidden" in told.err and "Notebook: postgresql:///hidden" in said
    assert "s3cret" not in told.out + told.err + said
