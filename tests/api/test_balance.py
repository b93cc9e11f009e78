"""A busy server process lets a caller move on now and then; a quiet one keeps every connection."""

import asyncio

from starlette.types import Message, Receive, Scope, Send

from api.guards.balance import MANY, ONE_IN, Balance


def ended(at_once: int, rounds: int) -> int:
    """Return how many answers end their connection while so many requests are under way at a time."""

    async def run() -> int:
        closing = 0
        gate = asyncio.Event()

        async def answer(scope: Scope, receive: Receive, send: Send) -> None:
            await gate.wait()
            await send({"type": "http.response.start", "status": 200, "headers": []})

        async def receive() -> Message:
            return {"type": "http.request"}

        async def send(message: Message) -> None:
            nonlocal closing
            closing += (b"connection", b"close") in message["headers"]

        guard = Balance(answer)
        for _ in range(rounds):
            gate.clear()
            calls = [asyncio.ensure_future(guard({"type": "http"}, receive, send)) for _ in range(at_once)]
            await asyncio.sleep(0)
            gate.set()
            await asyncio.gather(*calls)
        return closing

    return asyncio.run(run())


def test_a_quiet_process_keeps_its_connections() -> None:
    assert ended(at_once=MANY, rounds=20) == 0


def test_a_busy_process_ends_one_in_a_while() -> None:
    answers = 2 * MANY * 20
    assert 0 < ended(at_once=2 * MANY, rounds=20) <= answers / ONE_IN
