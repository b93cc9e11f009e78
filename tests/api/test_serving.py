"""The server is started as it is served: from the environment, with its log, and stopped without a torn answer."""

import json
import os
import signal
import socket
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import httpx

ROOT = Path(__file__).resolve().parents[2]
CODE = (
    "import sys, uvicorn; uvicorn.run('api.serving:create_served_app', factory=True, port=int(sys.argv[1]), "
    "access_log=False, log_config=None, server_header=False, timeout_graceful_shutdown=30)"
)


def test_it_serves_logs_and_stops(good: dict[str, Any], tmp_path: Path) -> None:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    environment = {**os.environ, "DOUGH_BODY_BYTES": "5000", "PYTHONPATH": str(ROOT)}
    with subprocess.Popen(
        [sys.executable, "-c", CODE, str(port)],
        cwd=tmp_path,
        env=environment,
        stderr=subprocess.PIPE,
        text=True,
    ) as server:
        try:
            with httpx.Client(base_url=f"http://127.0.0.1:{port}") as client:
                wait_for(client)
                answer = client.post("/v1/corrections", json=good)
                large = client.post("/v1/corrections", json={"name": "x" * 5000})
        finally:
            server.send_signal(signal.SIGTERM)
            _, log = server.communicate(timeout=40)
    assert (answer.status_code, large.status_code) == (200, 413)
    assert "server" not in answer.headers
    told = [json.loads(line) for line in log.splitlines()]
    [begun] = [line for line in told if line["event"] == "notebook"]
    assert begun["place"] == str(tmp_path / "dough-notebook.sqlite3")
    asked = [line for line in told if line["event"] == "request"]
    assert [(line["route"], line["status"]) for line in asked][-2:] == [
        ("/v1/corrections", 200),
        ("/v1/corrections", 413),
    ]
    assert not list(tmp_path.iterdir())


def wait_for(client: httpx.Client) -> None:
    for _ in range(200):
        try:
            client.get("/health").raise_for_status()
        except httpx.TransportError:
            time.sleep(0.1)
        else:
            return
    raise AssertionError("the server did not start")
