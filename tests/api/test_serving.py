"""The server is started as it is served: from the environment, with its log, and stopped without a torn answer."""

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import httpx

from helpers.server import ROOT, Served

CODE = (
    "import sys, uvicorn; uvicorn.run('api.serving:create_served_app', factory=True, port=int(sys.argv[1]), "
    "access_log=False, log_config=None, server_header=False, timeout_graceful_shutdown=30)"
)


def test_it_serves_logs_and_stops(good: dict[str, Any], tmp_path: Path) -> None:
    place = tmp_path / "place"
    place.mkdir()
    with Served(tmp_path / "shop.sqlite3", ("-c", CODE, "{port}"), place, DOUGH_BODY_BYTES="5000") as server:
        with httpx.Client(base_url=server.url) as client:
            answer = client.post("/v1/corrections", json=good)
            large = client.post("/v1/corrections", json={"name": "x" * 5000})
        server.stop()
        log = server.said()
    assert (answer.status_code, large.status_code) == (200, 413)
    assert "server" not in answer.headers
    told = [json.loads(line) for line in log.splitlines()]
    [begun] = [line for line in told if line["event"] == "notebook"]
    assert begun["place"] == str(tmp_path / "shop.sqlite3")
    asked = [line for line in told if line["event"] == "request"]
    assert [(line["route"], line["status"]) for line in asked][-2:] == [
        ("/v1/corrections", 200),
        ("/v1/corrections", 413),
    ]
    assert not list(place.iterdir())


def test_it_is_described_before_anybody_asks(tmp_path: Path) -> None:
    """The description takes more than half a second, in which nobody else would be answered."""
    code = (
        "from api.serving import create_served_app; print(len(create_served_app().openapi_schema['paths']))"
    )
    environment = {"DOUGH_NOTEBOOK": str(tmp_path / "shop.sqlite3"), "PATH": ""}
    run = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, env=environment, capture_output=True, text=True, check=True
    )
    assert int(run.stdout) > 20


def test_without_its_extra_it_serves_and_says_that_nothing_is_kept(
    good: dict[str, Any], tmp_path: Path
) -> None:
    """The base serves: on the event loop of Python, and with no notebook that it could not keep."""
    code = (
        "import sys; sys.modules['uvloop'] = sys.modules['sqlalchemy'] = None; "
        "from advisor.cli.main import main; main(['serve', '--port', sys.argv[1]])"
    )
    with Served(tmp_path / "shop.sqlite3", ("-c", code, "{port}")) as server:
        with httpx.Client(base_url=server.url) as client:
            assert client.post("/v1/corrections", json=good).status_code == 200
            assert client.get("/v1/doughs").json()["code"] == "not-installed"
        server.stop()
        said = server.said()
    assert "Notebook: nothing is kept. The notebook needs the extra notebook: " in said
    assert f"Notebook: {tmp_path}" not in said
