"""A process that gets many connections at once lets every second one move on; a kept one stays."""

import asyncio

from starlette.types import Message, Receive, Scope, Send

from api.http.guards.balance import FEW, REMEMBERED, Balance


def ended(at_once: int, rounds: int) -> list[int]:
    """Return how many answers of each round end their connection, the same callers asking in each."""

    async def run() -> list[int]:
        closing: list[int] = []
        gate = asyncio.Event()

        async def answer(scope: Scope, receive: Receive, send: Send) -> None:
            await gate.wait()
            await send({"type": "http.response.start", "status": 200, "headers": []})

        async def receive() -> Message:
            return {"type": "http.request"}

        async def send(message: Message) -> None:
            closing[-1] += (b"connection", b"close") in message["headers"]

        guard = Balance(answer)
        for _ in range(rounds):
            closing.append(0)
            gate.clear()
            scopes = [{"type": "http", "client": ["10.0.0.1", port]} for port in range(at_once)]
            calls = [asyncio.ensure_future(guard(scope, receive, send)) for scope in scopes]
            await asyncio.sleep(0)
            gate.set()
            await asyncio.gather(*calls)
        assert len(guard._known) <= REMEMBERED
        return closing

    return asyncio.run(run())


def test_a_few_callers_keep_their_connections() -> None:
    assert ended(at_once=FEW, rounds=3) == [0, 0, 0]


def test_of_many_new_ones_every_second_moves_on_and_kept_ones_stay() -> None:
    first, *later = ended(at_once=20, rounds=4)
    assert 8 <= first <= 10
    assert later == [0, 0, 0]


def test_no_more_callers_are_remembered_than_need_be() -> None:
    ended(at_once=REMEMBERED + 10, rounds=1)
