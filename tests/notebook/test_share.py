"""``serve --share``: the phone on the bench comes in by a link that works once, and nobody without."""

import re
from collections.abc import Iterator
from pathlib import Path

import httpx
import pytest

from helpers.server import Served

from .conftest import dough


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the folder of a server."""
    return tmp_path_factory.mktemp("shared")


@pytest.fixture(scope="module")
def server(place: Path) -> Iterator[Served]:
    """Return a server that lets others in."""
    command = ("-m", "advisor", "serve", "--share", "--port", "{port}")
    with Served(place / "shop.sqlite3", command, place) as running:
        yield running


@pytest.fixture(scope="module")
def shared(server: Served) -> list[str]:
    """Return what it says at its start."""
    return [line for line in server.said().splitlines() if not line.startswith("{")][:3]


def test_the_phone_comes_in_by_a_link_that_works_once(shared: list[str], server: Served, place: Path) -> None:
    port, base = server.port, server.url.rstrip("/")
    here, there, said = shared
    codes = [re.findall(r"http://\S+:\d+/join\?code=(\S+)", line)[0] for line in (here, there)]
    assert f"127.0.0.1:{port}" in here
    assert "The connection is not encrypted" in server.said()
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
    log = "".join(line for line in server.said().splitlines() if line.startswith("{"))
    assert str(place / "shop.sqlite3") in log
    assert not [secret for secret in (*codes, key) if secret in log]


def test_every_address_of_the_machine_is_served(shared: list[str], server: Served) -> None:
    address = re.findall(r"http://(\S+):\d+/join", shared[1])[0]
    told = httpx.get(f"http://{address}:{server.port}/v1/doughs")
    assert (told.status_code, told.json()["code"]) == (401, "key-needed")
