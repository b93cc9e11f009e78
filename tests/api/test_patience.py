"""Slow callers are let go, the others are served meanwhile, and the server ends when it is told to."""

import json
import os
import signal
import socket
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import httpx
import pytest

from helpers.server import Served

CODE = "import sys, uvicorn; from api.serving import UVICORN; uvicorn.run('api.serving:create_served_app', port=int(sys.argv[1]), **UVICORN)"
HEAD = b"POST /v1/corrections HTTP/1.1\r\nHost: localhost\r\n"
BODY = HEAD + b"Content-Type: application/json\r\nContent-Length: 1000\r\n\r\n"


@pytest.fixture
def server(tmp_path: Path) -> Iterator[Served]:
    with Served(tmp_path / "shop.sqlite3", ("-c", CODE, "{port}"), tmp_path) as served:
        yield served


def opened(server: Served, sent: bytes = b"") -> socket.socket:
    connection = socket.create_connection(("127.0.0.1", httpx.URL(server.url).port or 80))
    connection.sendall(sent)
    return connection


def closed_after(connection: socket.socket, drip: bytes = b"") -> float:
    """Return how long a connection stays open [s], a byte being sent every half second."""
    began = time.monotonic()
    connection.settimeout(0.5)
    while time.monotonic() - began < 40:
        try:
            if drip:
                connection.sendall(drip)
                time.sleep(0.5)
            if not connection.recv(1000):
                break
        except TimeoutError:
            continue
        except OSError:
            break
    connection.close()
    return time.monotonic() - began


@pytest.mark.slow
def test_slow_callers_are_let_go_and_long_answers_are_not(server: Served) -> None:
    attacks = {
        "silent": (opened(server), b""),
        "half a head": (opened(server, HEAD), b""),
        "dripping head": (opened(server, HEAD + b"X-A: "), b"a"),
        "silent body": (opened(server, BODY), b""),
        "dripping body": (opened(server, BODY), b" "),
    }
    lasted: dict[str, float] = {}

    def wait(name: str) -> None:
        lasted[name] = closed_after(*attacks[name])

    waiting = [threading.Thread(target=wait, args=(name,)) for name in attacks]
    for one in waiting:
        one.start()
    assert httpx.get(f"{server.url}health").status_code == 200
    for one in waiting:
        one.join()
    assert max(lasted["silent"], lasted["half a head"], lasted["dripping head"]) < 9, lasted
    assert max(lasted["silent body"], lasted["dripping body"]) < 15, lasted
    assert server.said().count('"event": "connection closed"') == 5


@pytest.mark.slow
def test_more_connections_than_files_shut_nobody_out(tmp_path: Path) -> None:
    few = f"import resource; resource.setrlimit(resource.RLIMIT_NOFILE, (160, 160)); {CODE}"
    with Served(tmp_path / "shop.sqlite3", ("-c", few, "{port}"), tmp_path) as server:
        held = [opened(server, HEAD) for _ in range(200)]
        assert httpx.get(f"{server.url}health", timeout=2).status_code == 200
        for one in held:
            one.close()


@pytest.mark.slow
@pytest.mark.parametrize("lines", [True, False], ids=["lines", "one body"])
def test_told_to_end_it_ends_and_says_where_a_sweep_stopped(
    server: Served, good: dict[str, Any], lines: bool
) -> None:
    if lines:
        sent = [json.dumps({"task": "correction", **good}).encode() + b"\n" for _ in range(40_000)]
        headers = {"content-type": "application/x-ndjson"}
    else:
        asked = {"task": "correction", "report": good["report"], "recipes": [good["recipe"]] * 8_000}
        sent, headers = [json.dumps(asked).encode()], {"content-type": "application/json"}
    with httpx.stream(
        "POST", f"{server.url}v1/sweeps", content=iter(sent), headers=headers, timeout=60
    ) as answer:
        pieces = answer.iter_raw()
        came = next(pieces)
        began = time.monotonic()
        os.kill(server.pid, signal.SIGTERM)
        came += b"".join(pieces)
    server.stop()
    assert time.monotonic() - began < 15
    told = [json.loads(line) for line in came.splitlines()] if lines else json.loads(came)["answers"]
    assert told[-1]["problem"]["code"] == "busy"
    assert "being ended" in told[-1]["problem"]["detail"]
    assert [one["index"] for one in told] == list(range(len(told)))
    assert "answer" in told[0]
    assert lines or len(told) == 8_000


@pytest.mark.slow
def test_the_counts_of_all_workers_are_told_together_and_only_to_the_owner(tmp_path: Path) -> None:
    command = ("-m", "advisor", "serve", "--port", "{port}", "--workers", "2")
    with (
        Served(tmp_path / "shop.sqlite3", command, tmp_path) as server,
        httpx.Client(base_url=server.url, limits=httpx.Limits(max_keepalive_connections=0)) as client,
    ):
        for _ in range(40):
            client.get("/v1/feels")
        told = {client.get("/metrics").text for _ in range(6)}
        counted = [
            float(line.rpartition(" ")[2])
            for text in told
            for line in text.splitlines()
            if line.startswith("dough_requests_total{") and '"/v1/feels"' in line
        ]
        assert counted == [40.0] * len(told)
        made = client.post("/v1/keys", json={"label": "house"}).json()["key"]
        owner = {"Authorization": f"Bearer {made}"}
        told = client.post("/v1/keys", json={"label": "bench", "role": "bench"}, headers=owner)
        bench = {"Authorization": f"Bearer {told.json()['key']}"}
        answers = [client.get("/metrics", headers=headers).status_code for headers in ({}, bench, owner)]
        assert answers == [401, 403, 200]
