"""``serve --share``: the phone on the bench comes in by a link that works once, and nobody without."""

import os
import re
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import httpx
import pytest

from .conftest import dough

ROOT = Path(__file__).parents[2]


@pytest.fixture
def port() -> int:
    """Return a port nobody listens at."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        return int(free.getsockname()[1])


@pytest.fixture
def shared(tmp_path: Path, port: int) -> Iterator[list[str]]:
    """Return what a server that lets others in says at its start."""
    command = [sys.executable, "-m", "advisor", "serve", "--share", "--port", str(port)]
    environment = {**os.environ, "DOUGH_NOTEBOOK": str(tmp_path / "shop.sqlite3"), "PYTHONPATH": str(ROOT)}
    with (
        (tmp_path / "log").open("w") as log,
        subprocess.Popen(
            command, cwd=tmp_path, env=environment, stdout=subprocess.PIPE, stderr=log, text=True
        ) as server,
    ):
        try:
            assert server.stdout is not None
            said = [server.stdout.readline() for _ in range(3)]
            for _ in range(200):
                try:
                    httpx.get(f"http://127.0.0.1:{port}/health")
                    break
                except httpx.TransportError:
                    time.sleep(0.05)
            yield said
        finally:
            server.send_signal(signal.SIGTERM)
            server.wait(40)


def test_the_phone_comes_in_by_a_link_that_works_once(shared: list[str], port: int, tmp_path: Path) -> None:
    base = f"http://127.0.0.1:{port}"
    here, there, said = shared
    codes = [re.findall(r"http://\S+:\d+/join\?code=(\S+)", line)[0] for line in (here, there)]
    assert f"127.0.0.1:{port}" in here
    key = said.split()[-1]
    assert httpx.get(f"{base}/v1/doughs").status_code == 401
    assert httpx.get(f"{base}/v1/doughs", headers={"Authorization": f"Bearer {key}"}).status_code == 200
    with httpx.Client(base_url=base) as phone:
        joined = phone.post("/join", data={"code": codes[1]})
        assert joined.status_code == 303
        flags = {part.strip().lower() for part in joined.headers["set-cookie"].split(";")[1:]}
        assert {"httponly", "samesite=strict", "path=/"} <= flags
        assert phone.post("/v1/doughs", json=dough()).status_code == 201
        assert len(phone.get("/v1/doughs").json()["items"]) == 1
    assert httpx.post(f"{base}/join", data={"code": codes[1]}).status_code == 401
    assert httpx.post(f"{base}/join", data={"code": codes[0]}).status_code == 303
    log = (tmp_path / "log").read_text()
    assert str(tmp_path / "shop.sqlite3") in log
    assert not [secret for secret in (*codes, key) if secret in log]


def test_every_address_of_the_machine_is_served(shared: list[str], port: int) -> None:
    address = re.findall(r"http://(\S+):\d+/join", shared[1])[0]
    told = httpx.get(f"http://{address}:{port}/v1/doughs")
    assert (told.status_code, told.json()["code"]) == (401, "key-needed")
