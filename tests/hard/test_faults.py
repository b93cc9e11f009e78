"""A solver that fails, a machine without memory, a worker that dies: told as 503, and the service lives on."""

import json
import multiprocessing
from collections.abc import Iterator
from typing import Any

import pytest
from fastapi.testclient import TestClient

import advisor
from advisor.errors import SolverError
from advisor.optimise import solver
from api.app import create_app
from api.settings import Settings
from api.sweeping import FEW
from helpers import makers


@pytest.fixture
def client() -> Iterator[TestClient]:
    with TestClient(create_app(Settings(sweep_workers=1)), raise_server_exceptions=False) as client:
        yield client


def body(seed: int = 1) -> dict[str, Any]:
    return {"recipe": makers.recipe(seed), "report": {"feel": "too_wet"}}


class Undecided:
    """A solver whose every run ends without a proof, counting them."""

    def __init__(self, inner: Any, status: Any) -> None:
        self._inner = inner
        self._status = status
        self.runs = 0

    def __getattr__(self, name: str) -> Any:
        return getattr(self._inner, name)

    def run(self) -> None:
        self.runs += 1

    def getModelStatus(self) -> Any:  # noqa: N802 the solver's own name
        return self._status


@pytest.mark.parametrize("status", ["kTimeLimit", "kIterationLimit", "kUnknown", "kSolveError", "kNotset"])
def test_a_run_without_a_proof_is_told_and_never_answered(
    client: TestClient, monkeypatch: pytest.MonkeyPatch, status: str
) -> None:
    made: list[Undecided] = []
    plain = solver.Model.__init__

    def undecided(self: Any, program: Any) -> None:
        plain(self, program)
        self._solver = Undecided(self._solver, getattr(solver.highspy.HighsModelStatus, status))
        made.append(self._solver)

    with monkeypatch.context() as broken:
        broken.setattr(solver.Model, "__init__", undecided)
        for call, asked in (
            ("corrections", body()),
            (
                "substitutions",
                {"recipe": makers.recipe(1), "missing": makers.recipe(1)["lines"][0]["material"]},
            ),
        ):
            answer = client.post(f"/v1/{call}", json=asked)
            assert answer.status_code == 503, answer.text
            assert answer.json()["code"] == "solver-timeout"
            assert answer.headers["retry-after"]
    assert made[0].runs == 3, "once, again from cold, and by the other simplex"
    assert client.post("/v1/corrections", json=body()).status_code == 200


def test_a_solver_that_fails_now_and_then_fails_in_its_place(
    client: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    plain, runs = solver.Model.solve, iter(range(10_000))

    def sometimes(self: Any) -> Any:
        if next(runs) % 17 == 0:
            raise SolverError("It gave no proof.")
        return plain(self)

    recipes = [makers.recipe(seed) for seed in range(12)]
    asked = {"task": "correction", "recipes": recipes, "report": {"feel": "too_wet"}}
    with monkeypatch.context() as broken:
        broken.setattr(solver.Model, "solve", sometimes)
        told = client.post("/v1/sweeps", json=asked).json()["answers"]
    problems = [entry["problem"] for entry in told if "problem" in entry]
    assert problems and len(problems) < 12
    assert {problem["code"] for problem in problems} == {"solver-timeout"}
    whole = client.post("/v1/sweeps", json=asked).json()["answers"]
    assert all("answer" in entry for entry in whole)
    assert [a for a, b in zip(told, whole, strict=True) if "answer" in a and a != b] == []


def test_no_memory_is_told_and_survived(client: TestClient, monkeypatch: pytest.MonkeyPatch) -> None:
    def exhausted(*_: Any, **__: Any) -> Any:
        raise MemoryError

    with monkeypatch.context() as broken:
        broken.setattr(solver, "_as_pulp", exhausted)
        answer = client.post("/v1/corrections", json=body())
        assert (answer.status_code, answer.json()["code"]) == (503, "busy")
        asked = {"task": "correction", "recipes": [makers.recipe(1)], "report": {"feel": "too_wet"}}
        told = client.post("/v1/sweeps", json=asked).json()["answers"]
        assert told[0]["problem"]["status"] == 503
    assert client.post("/v1/corrections", json=body()).status_code == 200


def test_a_worker_that_is_killed_costs_no_answer(client: TestClient) -> None:
    lines = "\n".join(json.dumps(body(seed)) for seed in range(FEW + 40))
    headers = {"content-type": "application/x-ndjson"}
    before = multiprocessing.active_children()
    expected = client.post("/v1/sweeps", content=lines, headers=headers).text
    workers = [child for child in multiprocessing.active_children() if child not in before]
    assert workers
    for worker in workers:
        worker.kill()
        worker.join()
    assert client.post("/v1/sweeps", content=lines, headers=headers).text == expected


def test_the_python_door_tells_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    def failing(self: Any) -> Any:
        raise SolverError("It gave no proof.")

    monkeypatch.setattr(solver.Model, "solve", failing)
    with pytest.raises(SolverError):
        advisor.correct(body())
