"""What stands before the routes: headers, names, origins, requests in flight, the log."""

import asyncio
import io
import json
import logging
from collections.abc import Iterator
from typing import Any

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient
from starlette.types import Message, Receive, Scope, Send

from api.app import create_app
from api.http.errors import Busy
from api.http.guards.in_flight import InFlight
from api.http.guards.log import LOGGER, log_to
from api.settings import Settings


def test_every_answer_carries_the_security_headers(client: TestClient, good: dict[str, Any]) -> None:
    for answer in (
        client.get("/health"),
        client.get("/nowhere"),
        client.get("/docs"),
        client.get("/docs/assets/swagger-ui.css"),
        client.post("/v1/corrections", json=good),
        client.post("/v1/corrections", content=b"x"),
        client.get("/health", headers={"host": "evil.example"}),
    ):
        assert answer.headers["x-content-type-options"] == "nosniff"
        assert answer.headers["referrer-policy"] == "no-referrer"
        assert "frame-ancestors 'none'" in answer.headers["content-security-policy"]
        assert "unsafe" not in answer.headers["content-security-policy"]
        assert len(answer.headers["x-request-id"]) == 36
        assert "access-control-allow-origin" not in answer.headers


@pytest.mark.parametrize(
    "host", ["localhost", "LocalHost:8000", "127.0.0.1:8000", "[::1]:8000", "192.168.1.20:8000", "[fe80::1]"]
)
def test_own_names_and_addresses_are_served(client: TestClient, host: str) -> None:
    assert client.get("/health", headers={"host": host}).status_code == 200


@pytest.mark.parametrize(
    "host", ["evil.example", "localhost.evil.example", "127.0.0.1.evil.example", "[::1", ""]
)
def test_other_names_are_not(client: TestClient, host: str) -> None:
    answer = client.get("/health", headers={"host": host})
    assert (answer.status_code, answer.json()["code"]) == (421, "wrong-host")


def test_names_can_be_added() -> None:
    client = TestClient(create_app(Settings(hosts=("bench.local",))))
    assert client.get("/health", headers={"host": "bench.local:8000"}).status_code == 200
    assert client.get("/health").status_code == 421
    assert (
        TestClient(create_app(Settings(hosts=("*",))), "http://a.example").get("/health").status_code == 200
    )


@pytest.mark.parametrize(
    ("headers", "status"),
    [
        ({}, 200),
        ({"origin": "http://testserver"}, 200),
        ({"origin": "https://testserver"}, 200),
        ({"origin": "http://evil.example"}, 403),
        ({"origin": "null"}, 403),
        ({"origin": ""}, 403),
        ({"origin": "http://testserver.evil.example"}, 403),
        ({"sec-fetch-site": "cross-site"}, 403),
        ({"sec-fetch-site": "same-origin"}, 200),
    ],
)
def test_other_sites_cannot_post(
    client: TestClient, good: dict[str, Any], headers: dict[str, str], status: int
) -> None:
    assert client.post("/v1/corrections", json=good, headers=headers).status_code == status
    assert client.get("/health", headers=headers).status_code == 200


def test_a_site_can_be_let_in(good: dict[str, Any]) -> None:
    shop = "https://shop.example"
    client = TestClient(create_app(Settings(origins=(shop,))))
    asked = {"origin": shop, "access-control-request-method": "POST"}
    assert client.options("/v1/corrections", headers=asked).headers["access-control-allow-origin"] == shop
    answer = client.post("/v1/corrections", json=good, headers={"origin": shop})
    assert (answer.status_code, answer.headers["access-control-allow-origin"]) == (200, shop)
    refused = client.post("/v1/corrections", json=good, headers={"origin": "https://other.example"})
    assert refused.status_code == 403
    assert "access-control-allow-origin" not in refused.headers
    wrong = client.post("/v1/corrections", json={}, headers={"origin": shop})
    assert (wrong.status_code, wrong.headers["access-control-allow-origin"]) == (422, shop)


def test_more_than_the_server_takes_on_is_told_to_come_again() -> None:
    async def both() -> None:
        inside, leave = asyncio.Event(), asyncio.Event()

        async def slow(scope: Scope, receive: Receive, send: Send) -> None:
            inside.set()
            await leave.wait()

        async def receive() -> Message:
            return {"type": "http.request"}

        async def send(message: Message) -> None:
            return None

        guard = InFlight(slow, at_most=1, per_caller=9)
        scope = {"type": "http", "path": "/v1/corrections", "state": {}}
        first = asyncio.ensure_future(guard(scope, receive, send))
        await inside.wait()
        with pytest.raises(Busy):
            await guard(scope, receive, send)
        leave.set()
        await guard({"type": "http", "path": "/health"}, receive, send)
        await first
        await guard(scope, receive, send)

    asyncio.run(both())


def test_a_full_server_is_still_healthy(good: dict[str, Any]) -> None:
    client = TestClient(create_app(Settings(in_flight_at_most=0)))
    answer = client.post("/v1/corrections", json=good)
    assert (answer.status_code, answer.json()["code"], answer.headers["retry-after"]) == (503, "busy", "1")
    assert client.get("/health").status_code == 200


@pytest.fixture
def lines() -> Iterator[io.StringIO]:
    kept = (LOGGER.handlers[:], LOGGER.level, LOGGER.propagate)
    stream = io.StringIO()
    log_to(stream)
    yield stream
    LOGGER.handlers[:], level, LOGGER.propagate = kept
    LOGGER.setLevel(level)


def test_a_request_is_one_line_without_what_was_sent(
    client: TestClient, good: dict[str, Any], lines: io.StringIO
) -> None:
    good["recipe"]["name"] = "a-secret"
    client.post("/v1/corrections?a-secret=1", json=good, headers={"authorization": "Bearer a-secret"})
    client.get("/v1/materials/a-secret")
    client.request("A-SECRET", "/a-secret")
    text = lines.getvalue()
    assert "a-secret" not in text.lower()
    told = [json.loads(line) for line in text.splitlines()]
    assert [(line["method"], line["route"], line["status"]) for line in told] == [
        ("POST", "/v1/corrections", 422),
        ("GET", "/v1/materials/{key}", 404),
        ("other", None, 404),
    ]
    assert all(line["ms"] >= 0 and line["request_id"] and line["time"] and line["level"] for line in told)


def test_nothing_is_logged_unasked(app: FastAPI) -> None:
    assert LOGGER.getEffectiveLevel() >= logging.WARNING
