"""A calculation over HTTP is the Python function and nothing else."""

import asyncio
import json
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import pytest
from fastapi.testclient import TestClient

import advisor
from advisor.errors import AdvisorError
from advisor.registry import TASKS, Task
from api.samples import Sample, samples
from api.work import Work

CALLS = [one for one in TASKS if one.method == "POST" and one.name != "sweep"]
FUNCTIONS = {f"/v1/{call.address}": call.function for call in CALLS}


SAMPLES = [sample for sample in samples() if sample.path in FUNCTIONS]


@pytest.mark.parametrize("sample", SAMPLES, ids=lambda sample: sample.name)
def test_every_sample_is_answered_as_the_function_answers(client: TestClient, sample: Sample) -> None:
    answer = client.post(sample.path, json=sample.request)
    assert answer.status_code == sample.status
    try:
        expected = FUNCTIONS[sample.path](sample.request).model_dump(mode="json")
    except AdvisorError as error:
        expected = {**error.problem(), "instance": answer.json()["instance"]}
    assert answer.json() == expected


def test_the_answer_is_that_of_the_function(client: TestClient, good: dict[str, Any]) -> None:
    assert client.post("/v1/corrections", json=good).json() == advisor.correct(good).model_dump(mode="json")
    del good["report"]
    assert client.post("/v1/assessments", json=good).json() == advisor.assess(good).model_dump(mode="json")


@pytest.mark.parametrize("call", CALLS, ids=lambda call: call.name)
def test_every_call_says_what_it_misses(client: TestClient, call: Task) -> None:
    answer = client.post(f"/v1/{call.address}", json={"colour": "red"})
    assert answer.status_code == 422
    assert "/colour" in [error["where"] for error in answer.json()["errors"]]


def test_null_is_as_good_as_absent(client: TestClient, good: dict[str, Any]) -> None:
    plain = client.post("/v1/corrections", json=good).content
    good.update(wishes=None, shelf=None, materials=None, history=None)
    good["report"].update(degree=None, signs=None)
    assert client.post("/v1/corrections", json=good).content == plain


def test_a_conflict_comes_with_the_nearest_recipe(client: TestClient, good: dict[str, Any]) -> None:
    good["wishes"] = {"active": {"min": 60}, "components": {"Cocamidopropyl Betaine": {"min": 20}}}
    problem = client.post("/v1/corrections", json=good).json()
    assert len(problem["conflict"]) > 1
    assert sum(line["percent"] for line in problem["nearest"]["recipe"]["lines"]) == pytest.approx(100)


def test_a_calculation_is_not_to_be_kept(client: TestClient, good: dict[str, Any]) -> None:
    assert client.post("/v1/corrections", json=good).headers["cache-control"] == "no-store"


def test_a_large_body_is_worked_on_apart_and_answered_alike(client: TestClient, good: dict[str, Any]) -> None:
    plain = client.post("/v1/corrections", json=good).content
    padded = json.dumps(good).encode() + b" " * 20_000
    headers = {"content-type": "application/json"}
    assert client.post("/v1/corrections", content=padded, headers=headers).content == plain


def test_calls_at_the_same_time_do_not_meet(client: TestClient, good: dict[str, Any]) -> None:
    dry = {**good, "report": {"feel": "too_dry"}}
    padding = b" " * 20_000
    bodies = [json.dumps(body).encode() + pad for body in (good, dry) for pad in (b"", padding)] * 4
    headers = {"content-type": "application/json"}

    def post(body: bytes) -> bytes:
        return client.post("/v1/corrections", content=body, headers=headers).content

    with ThreadPoolExecutor(4) as pool:
        together = list(pool.map(post, bodies))
    assert together == [post(body) for body in bodies]
    assert len(set(together)) == 2


def test_what_runs_apart_leaves_the_loop_free() -> None:
    async def both() -> list[str]:
        work, order = Work(), []
        free = asyncio.Event()
        loop = asyncio.get_running_loop()

        def long() -> None:
            asyncio.run_coroutine_threadsafe(_set(free), loop).result(5)
            order.append("long")

        running = asyncio.ensure_future(work.run(long, long=True))
        await free.wait()
        await work.run(lambda: order.append("short"), long=False)
        await running
        work.close()
        return sorted(order)

    assert asyncio.run(both()) == ["long", "short"]


async def _set(event: asyncio.Event) -> None:
    event.set()
