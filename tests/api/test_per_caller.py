"""One caller may not crowd out the others."""

import asyncio

import pytest
from fastapi.testclient import TestClient
from starlette.types import Message, Receive, Scope, Send

from api.app import create_app
from api.http.errors import TooMany
from api.http.guards.in_flight import InFlight
from api.settings import Settings


def scope(address: str = "10.0.0.1", path: str = "/v1/feels") -> Scope:
    return {"type": "http", "path": path, "state": {}, "client": (address, 1234)}


def test_callers_are_told_apart_by_address_until_their_key_is_known() -> None:
    async def run() -> None:
        leave = asyncio.Event()

        async def slow(asked: Scope, receive: Receive, send: Send) -> None:
            if key := asked.get("key"):
                asked["state"]["counted"].as_caller(key)
            await leave.wait()

        async def receive() -> Message:
            return {"type": "http.request"}

        async def send(message: Message) -> None:
            return None

        def asked(one: Scope) -> asyncio.Future[None]:
            return asyncio.ensure_future(guard(one, receive, send))

        guard = InFlight(slow, at_most=128, per_caller=2)
        keyed = [asked({**scope(), "key": "a"}) for _ in range(2)]
        await asyncio.sleep(0)
        with pytest.raises(TooMany):
            await asked({**scope("10.0.0.2"), "key": "a"})
        unknown = [asked(scope()) for _ in range(2)]
        await asyncio.sleep(0)
        with pytest.raises(TooMany):
            await asked(scope())
        others = [asked(scope("10.0.0.2")), asked({**scope("10.0.0.3"), "key": "b"})]
        always = [asked(scope(path=path)) for path in ("/health", "/ready") for _ in range(9)]
        await asyncio.sleep(0)
        assert guard.callers == {"a": 2, "10.0.0.1": 2, "10.0.0.2": 1, "b": 1}
        leave.set()
        await asyncio.gather(*keyed, *unknown, *others, *always)
        assert (guard.now, len(guard.callers)) == (0, 0)

    asyncio.run(run())


def test_the_caller_is_told_to_wait() -> None:
    client = TestClient(create_app(Settings(per_caller_at_most=0)))
    assert client.get("/health").status_code == client.get("/ready").status_code == 200
    answer = client.get("/v1/feels")
    assert (answer.status_code, answer.json()["code"], answer.headers["retry-after"]) == (
        429,
        "too-many",
        "1",
    )
