"""The Python client asks what the description says, of every calculation, and reads what the server answers."""

import inspect
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import httpx
import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient

from advisor.client import Client, ProblemError
from advisor.correction.schema import CorrectionRequest
from advisor.registry import task
from advisor.schema.kept_recipe import KeptRecipe
from advisor.sweeps.schema import Refused
from api.app import create_app
from api.samples import samples
from api.settings import Settings
from helpers import makers

PLAIN = {"health", "material", "materials", "sweep_lines", "close", "stock", "rack"}
PLAIN |= {"recipe", "recipes", "versions", "keep_recipe"}


@pytest.fixture
def connected(app: FastAPI) -> Iterator[Client]:
    with Client(http=TestClient(app, raise_server_exceptions=False)) as client:
        yield client


@pytest.fixture(scope="module")
def described(client: TestClient) -> dict[str, Any]:
    found: dict[str, Any] = client.get("/openapi.json").json()
    return found


def calculations(described: dict[str, Any]) -> dict[str, dict[str, Any]]:
    return {
        methods["post"]["operationId"]: methods["post"] | {"path": path}
        for path, methods in described["paths"].items()
        if "post" in methods and "Calculations" in methods["post"]["tags"]
    }


def named(schema: dict[str, Any]) -> str:
    return str(schema["$ref"]).rpartition("/")[2]


def test_every_calculation_has_a_method_of_its_operation_id(described: dict[str, Any]) -> None:
    methods = {name for name, _ in inspect.getmembers(Client, inspect.isfunction) if not name.startswith("_")}
    assert methods - PLAIN == set(calculations(described))


def test_methods_take_and_return_the_shapes_that_are_described(described: dict[str, Any]) -> None:
    for operation_id, operation in calculations(described).items():
        asked = operation["requestBody"]["content"]["application/json"]["schema"]
        told = operation["responses"]["200"]["content"]["application/json"]["schema"]
        assert named(asked) == task(operation_id).request.__name__
        assert named(told) == task(operation_id).answer.__name__
        fields = task(operation_id).answer.model_json_schema()["properties"]
        assert set(described["components"]["schemas"][named(told)]["properties"]) == set(fields)


def test_methods_ask_at_the_described_address(described: dict[str, Any]) -> None:
    seen: list[tuple[str, str]] = []

    def answer(request: httpx.Request) -> httpx.Response:
        seen.append((request.method, request.url.path))
        problem = {"status": 422, "code": "invalid-request", "detail": "It is wrong."}
        return httpx.Response(422, json=problem)

    client = Client(key="k", http=httpx.Client(base_url="http://a", transport=httpx.MockTransport(answer)))
    for operation_id, operation in calculations(described).items():
        with pytest.raises(ProblemError, match="wrong") as caught:
            getattr(client, operation_id)({})
        assert (caught.value.status, caught.value.code) == (422, "invalid-request")
        assert seen[-1] == ("POST", operation["path"])


@pytest.mark.parametrize("sample", samples(), ids=lambda sample: sample.name)
def test_every_sample_can_be_asked(connected: Client, described: dict[str, Any], sample: Any) -> None:
    operation_id = described["paths"][sample.path]["post"]["operationId"]
    ask = getattr(connected, operation_id)
    if sample.status == 200:
        assert json.loads(ask(sample.request).model_dump_json()).keys() >= {"rules_version"}
    else:
        with pytest.raises(ProblemError) as caught:
            ask(sample.request)
        assert caught.value.code == sample.answer["code"]


def test_a_model_is_sent_as_it_is(connected: Client) -> None:
    body = {"recipe": makers.recipe(1), "report": makers.report(1)}
    assert connected.correct(CorrectionRequest.model_validate(body)) == connected.correct(body)


def test_lines_are_yielded_in_order(connected: Client) -> None:
    bodies = [{"recipe": makers.recipe(seed), "report": makers.report(seed)} for seed in range(5)]
    entries = list(connected.sweep_lines([*bodies, {"recipe": 1}]))
    assert [entry.index for entry in entries] == list(range(6))
    assert isinstance(entries[5], Refused)


def test_the_library_is_read_page_by_page(connected: Client) -> None:
    keys = [material.key for material in connected.materials()]
    assert keys == sorted(keys)
    assert len(keys) > 60
    assert {one.key for one in connected.materials("betaine")} < set(keys)
    assert connected.material("kaolin").key == "kaolin"
    assert connected.health().status == "ok"


def test_fields_of_a_newer_server_are_ignored() -> None:
    told = {"status": "ok", "version": "9", "rules_version": "9", "solver": "x", "mood": "fine"}
    transport = httpx.MockTransport(lambda _: httpx.Response(200, json=told))
    assert Client(http=httpx.Client(base_url="http://a", transport=transport)).health().version == "9"


def test_the_key_goes_along() -> None:
    def answer(request: httpx.Request) -> httpx.Response:
        assert request.headers["authorization"] == "Bearer k-1"
        return httpx.Response(401, json={"status": 401, "code": "key-needed", "detail": "No."})

    client = Client(key="k-1", http=httpx.Client(base_url="http://a", transport=httpx.MockTransport(answer)))
    for ask in (
        lambda: client.correct({}),
        lambda: client.material("x"),
        lambda: list(client.sweep_lines([{}])),
    ):
        with pytest.raises(ProblemError, match="No"):
            ask()


def test_of_two_clients_on_one_recipe_one_is_refused(tmp_path: Path) -> None:
    app = create_app(Settings(notebook=str(tmp_path / "notebook.sqlite3")))
    with TestClient(app) as http:
        first, second = Client(http=http), Client(http=http)
        body = {"recipe": makers.recipe(1)}
        assert first.keep_recipe("weir-bar", body).version == 1
        with pytest.raises(ProblemError, match="exists already"):
            second.keep_recipe("weir-bar", body)
        assert second.recipe("weir-bar").version == 1
        assert (
            second.keep_recipe("weir-bar", KeptRecipe.model_validate({**body, "note": "again"})).version == 2
        )
        with pytest.raises(ProblemError) as refused:
            first.keep_recipe("weir-bar", {**body, "note": "mine"})
        assert refused.value.code == "stale"
        assert [one.version for one in first.versions("weir-bar")] == [1, 2]
        assert [one.key for one in first.recipes()] == ["weir-bar"]
        assert (first.stock(), first.rack().items) == ([], ())
