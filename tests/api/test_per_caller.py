"""One caller may not crowd out the others."""

import asyncio

import pytest
from fastapi.testclient import TestClient
from starlette.types import Message, Receive, Scope, Send

from api.app import create_app
from api.http.errors import TooMany
from api.http.guards.per_caller import PerCaller
from api.settings import Settings


def scope(key: str | None = None, address: str = "10.0.0.1") -> Scope:
    headers = [] if key is None else [(b"authorization", f"Bearer {key}".encode())]
    return {"type": "http", "headers": headers, "client": (address, 1234)}


def test_callers_are_told_apart_by_key_and_by_address() -> None:
    async def run() -> None:
        leave = asyncio.Event()

        async def slow(_: Scope, receive: Receive, send: Send) -> None:
            await leave.wait()

        async def receive() -> Message:
            return {"type": "http.request"}

        async def send(message: Message) -> None:
            return None

        guard = PerCaller(slow, at_most=2)
        same = [asyncio.ensure_future(guard(scope("a"), receive, send)) for _ in range(2)]
        await asyncio.sleep(0)
        with pytest.raises(TooMany):
            await guard(scope("a", "10.0.0.2"), receive, send)
        others = [
            asyncio.ensure_future(guard(one, receive, send))
            for one in (scope("b"), scope(), scope(None, "10.0.0.2"))
        ]
        await asyncio.sleep(0)
        leave.set()
        await asyncio.gather(*same, *others)
        await guard(scope("a"), receive, send)
        assert not guard._now

    asyncio.run(run())


def test_the_caller_is_told_to_wait() -> None:
    answer = TestClient(create_app(Settings(per_caller_at_most=0))).get("/health")
    assert (answer.status_code, answer.json()["code"], answer.headers["retry-after"]) == (
        429,
        "too-many",
        "1",
    )
