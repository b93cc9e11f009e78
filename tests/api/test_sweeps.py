"""Sweeps over HTTP: whole or line by line, in order, in place, and stopped when the caller leaves."""

import asyncio
import json
from collections.abc import AsyncIterator, Iterator
from typing import Any

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient
from starlette.requests import ClientDisconnect

import advisor
from advisor.sweeps.chunk import Job, Outcome, Setting
from api.app import create_app
from api.ending import Ending
from api.http.lines import MOST_BYTES, Exchange, Lines, cut_lines
from api.http.spool import Spool
from api.settings import Settings
from api.sweeping import FEW, Sweeping
from api.work import Work
from helpers import makers
from helpers.server import PATIENCE

Body = dict[str, Any]
NDJSON = {"content-type": "application/x-ndjson"}


@pytest.fixture(scope="module")
def sweeper() -> Iterator[TestClient]:
    with TestClient(create_app(Settings(sweep_workers=1)), raise_server_exceptions=False) as client:
        yield client


def body(seed: int) -> Body:
    return {"recipe": makers.recipe(seed), "report": makers.report(seed)}


def lines_of(answer: Any) -> list[Body]:
    assert answer.status_code == 200, answer.text
    assert answer.headers["content-type"] == "application/x-ndjson"
    return [json.loads(line) for line in answer.text.splitlines()]


def test_a_sweep_answers_as_the_function_does(sweeper: TestClient) -> None:
    recipes = [makers.recipe(seed) for seed in range(6)]
    recipes[2] = {"lines": []}
    asked = {"task": "correction", "recipes": recipes, "report": {"feel": "too_dry"}}
    answer = sweeper.post("/v1/sweeps", json=asked)
    expected = json.loads(advisor.sweep(asked).model_dump_json())
    told = answer.json()
    assert told["answers"][2]["problem"]["instance"] == f"urn:uuid:{answer.headers['x-request-id']}"
    for one in (told, expected):
        one["answers"][2]["problem"]["instance"] = ""
    assert told == expected


def test_more_than_a_few_go_to_worker_processes_with_the_same_answers(sweeper: TestClient) -> None:
    bodies = [body(seed) for seed in range(FEW + 20)]
    told = lines_of(sweeper.post("/v1/sweeps", content="\n".join(map(json.dumps, bodies)), headers=NDJSON))
    assert [line["index"] for line in told] == list(range(len(bodies)))
    for seed in (0, FEW + 3, FEW + 19):
        single = sweeper.post("/v1/corrections", json=bodies[seed])
        assert told[seed].get("answer", 0) == (single.json() if single.status_code == 200 else 0)


def test_each_line_fails_in_its_place(sweeper: TestClient) -> None:
    good = json.dumps(body(1))
    sent = [
        good,
        "{",
        "",
        '{"recipe": {"lines": [], "lines": []}}',
        "[]",
        json.dumps({"task": "label"}),
        '{"name": "' + "x" * MOST_BYTES + '"}',
        json.dumps(body(1) | {"task": "assessment"}),
        json.dumps({"recipe": makers.recipe(1), "missing": makers.recipe(1)["lines"][0]["material"]}),
        good,
    ]
    told = lines_of(sweeper.post("/v1/sweeps", content="\r\n".join(sent), headers=NDJSON))
    assert [line["index"] for line in told] == list(range(9))
    assert [line.get("problem", {}).get("code") for line in told] == [
        None,
        "invalid-json",
        "invalid-json",
        "invalid-request",
        "invalid-request",
        "too-large",
        None,
        None,
        None,
    ]
    assert told[0]["answer"] == told[8]["answer"]
    assert "totals" in told[6]["answer"] and "options" in told[7]["answer"]


def test_the_query_names_the_task_of_lines_that_do_not(sweeper: TestClient) -> None:
    line = json.dumps({"recipe": makers.recipe(1)})
    told = lines_of(sweeper.post("/v1/sweeps?task=assessment", content=line, headers=NDJSON))
    assert "totals" in told[0]["answer"]
    assert sweeper.post("/v1/sweeps?task=label", content=line, headers=NDJSON).status_code == 422
    assert sweeper.post("/v1/sweeps?task=assessment", json={}).status_code == 422
    assert lines_of(sweeper.post("/v1/sweeps", content="", headers=NDJSON)) == []


def test_what_cannot_be_answered_at_all(sweeper: TestClient) -> None:
    asked = {"task": "correction", "recipes": [makers.recipe(1)], "report": {"feel": "too_dry"}}
    assert sweeper.post("/v1/sweeps", json=asked | {"recipes": [{}] * 10_001}).status_code == 422
    assert sweeper.post("/v1/sweeps", json=asked | {"report": None}).status_code == 422
    assert sweeper.post("/v1/sweeps", content="{}", headers={"content-type": "text/csv"}).status_code == 415
    accept = {**NDJSON, "accept": "application/json"}
    assert sweeper.post("/v1/sweeps", content="{}", headers=accept).status_code == 406


def test_sweeps_are_counted(sweeper: TestClient) -> None:
    def counted() -> str:
        return next(x for x in sweeper.get("/metrics").text.splitlines() if 'outcome="refused"' in x)

    before = float(counted().split()[-1])
    sweeper.post("/v1/sweeps", content="{", headers=NDJSON)
    assert float(counted().split()[-1]) == before + 1


def test_metrics_are_text_of_prometheus(client: TestClient, app: FastAPI) -> None:
    client.get("/health")
    answer = client.get("/metrics")
    assert answer.headers["content-type"].startswith("text/plain; version=")
    lines = answer.text.splitlines()
    assert any(
        line.startswith('dough_requests_total{method="GET",route="/health",status="200"}') for line in lines
    )
    families = {line.split()[2]: line.split()[3] for line in lines if line.startswith("# TYPE")}
    assert families["dough_request_seconds"] == "histogram"
    for line in lines:
        if not line.startswith("#"):
            name = line.partition("{")[0].partition(" ")[0]
            assert any(name.startswith(family) for family in families)
            float(line.rpartition(" ")[2])


# -- lines as they come -----------------------------------------------------------------------------------


async def some(lines: Lines) -> list[bytes | None]:
    return [line async for few in lines for line in few]


@pytest.mark.parametrize("size", [1, 2, 3, 7, 1000])
def test_lines_are_cut_wherever_the_pieces_end(size: int) -> None:
    async def cut() -> list[bytes | None]:
        spool = Spool()
        sent = b"one\n\n  \r\ntwo\r\n" + b"x" * 20 + b"\nthree\n" + b"y" * 20 + b"z" * 20 + b"\nlast"
        for start in range(0, len(sent), size):
            await spool.put(sent[start : start + size])
        spool.end()
        found = await some(cut_lines(spool, 12))
        spool.close()
        return found

    assert asyncio.run(cut()) == [b"one", b"two\r", None, b"three", None, b"last"]


def test_a_spool_makes_the_giver_wait_beyond_its_size() -> None:
    async def through() -> list[int]:
        spool = Spool(most=10)
        taken: list[int] = []

        async def give() -> None:
            for _ in range(20):
                await spool.put(b"12345678")
            spool.end()

        async def take() -> None:
            async for data in spool:
                taken.append(len(data))
                await asyncio.sleep(0)

        await asyncio.wait_for(asyncio.gather(give(), take()), PATIENCE)
        spool.close()
        return taken

    taken = asyncio.run(through())
    assert sum(taken) == 160
    assert max(taken) <= 24


def test_answers_are_sent_while_lines_still_come() -> None:
    """The second line is sent only after the first answer has been received."""

    async def talk() -> list[bytes]:
        received: list[bytes] = []
        answered = asyncio.Event()
        to_send = [b"first\n", b"second\n"]

        async def receive() -> Any:
            if len(to_send) == 1:
                await answered.wait()
            if to_send:
                return {"type": "http.request", "body": to_send.pop(0), "more_body": True}
            if not done.is_set():
                done.set()
                return {"type": "http.request", "body": b"", "more_body": False}
            await asyncio.Event().wait()
            return None

        async def send(message: Any) -> None:
            if message.get("body"):
                received.append(message["body"])
                answered.set()

        async def echo(lines: Lines) -> AsyncIterator[bytes]:
            async for few in lines:
                yield b"".join(b"<%s>" % (line or b"") for line in few)

        done = asyncio.Event()
        await asyncio.wait_for(Exchange(echo)({"type": "http"}, receive, send), PATIENCE)  # type: ignore[arg-type]
        return received

    assert asyncio.run(talk()) == [b"<first>", b"<second>"]


def test_work_stops_when_the_caller_leaves() -> None:
    begun: list[int] = []

    class Counting(Sweeping):
        def _take(self, setting: Setting, chunk: Any, before: int, caller: str) -> Any:
            async def slow() -> list[Outcome]:
                begun.append(before)
                await asyncio.sleep(0.01)
                return [Outcome(True, b"{}")] * len(chunk)

            return asyncio.ensure_future(slow())

    async def leave() -> int:
        sweeping = Counting(Work(), 1, Ending())
        left = asyncio.Event()
        to_send = [b"{}\n" * 5000]

        async def receive() -> Any:
            if to_send:
                return {"type": "http.request", "body": to_send.pop(), "more_body": True}
            await left.wait()
            return {"type": "http.disconnect"}

        async def send(message: Any) -> None:
            if message.get("body"):
                left.set()

        async def answer(lines: Lines) -> AsyncIterator[bytes]:
            async def cut() -> AsyncIterator[list[Job]]:
                async for few in lines:
                    yield [Job("correction", {}) for _ in few]

            async for outcomes in sweeping.in_order(Setting.of({}), cut(), ""):
                yield b"x" * len(outcomes)

        with pytest.raises(ClientDisconnect):
            await asyncio.wait_for(Exchange(answer)({"type": "http"}, receive, send), PATIENCE)  # type: ignore[arg-type]
        count = len(begun)
        await asyncio.sleep(0.1)
        return len(begun) - count

    assert asyncio.run(leave()) <= 5
    assert len(begun) < 30
