"""The Python client asks what the description says, of every calculation, and reads what the server answers."""

import asyncio
import inspect
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import httpx
import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient

from advisor.client import AsyncClient, Client, ProblemError
from advisor.client.operations import OPERATIONS
from advisor.correction.schema import CorrectionRequest
from advisor.registry import task
from advisor.schema.notebook import KeptRecipe
from advisor.sweeps.schema import Refused
from api.app import create_app
from api.samples import samples
from api.settings import Settings
from helpers import makers


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


def test_every_operation_has_a_method_of_its_id_in_both_clients(described: dict[str, Any]) -> None:
    known = {one.name: one for one in OPERATIONS}
    operations = {
        operation["operationId"]: (method.upper(), path, operation)
        for path, methods in described["paths"].items()
        for method, operation in methods.items()
    }
    assert known.keys() == operations.keys()
    for name, (method, path, operation) in operations.items():
        one = known[name]
        assert (one.method, one.path) == (method, path)
        assert bool(one.sends) == ("requestBody" in operation)
        query = {one["name"] for one in operation.get("parameters", []) if one["in"] == "query"}
        if name != "sweep":
            assert query - {"after", "units"} == set(one.query), name
        assert ("after" in query) == one.paged
        for client in (Client, AsyncClient):
            assert list(inspect.signature(getattr(client, name)).parameters) == ["self", *one.takes]
            assert getattr(client, name).__doc__


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
        assert (list(first.stock()), first.rack().items) == ([], ())
        assert first.recipe("weir-bar").version == 2
        first.delete_recipe("weir-bar")
        with pytest.raises(ProblemError, match="no"):
            first.recipe("weir-bar")


@pytest.fixture
def shop(tmp_path: Path) -> FastAPI:
    return create_app(Settings(notebook=str(tmp_path / "notebook.sqlite3")))


def test_the_whole_interface_is_asked(shop: FastAPI) -> None:
    with TestClient(shop) as http:
        client = Client(http=http)
        rye = {**client.material("rice-starch").model_dump(mode="json", exclude_none=True), "key": "my-rye"}
        assert client.put_material("my-rye", rye).key == client.get_material("my-rye").key == "my-rye"
        assert client.put_lot("my-rye", "L/1", {"stock_grams": 900.0}).stock_grams == 900
        assert client.put_lot("my-rye", "L/1", {"stock_grams": 800.0}).stock_grams == 800
        assert [one.lot for one in client.list_lots("my-rye")] == ["L/1"]
        assert [one.on_hand for one in client.list_stock()] == [800]
        made = client.add_dough({"recipe": makers.recipe(1), "report": makers.report(1)})
        assert client.get_dough(made.id) == made
        assert [one.id for one in client.list_doughs(newest="true", limit=1)] == [made.id]
        assert client.get_window(first=1).doughs == 1
        whole = client.get_notebook()
        assert len(whole.lots) == 1 and client.get_backup().startswith(b"SQLite format 3")
        client.delete_notebook()
        assert list(client.list_stock()) == []
        assert client.put_notebook(whole.model_dump(mode="json", exclude_none=True))["lots"] == 1
        client.delete_lot("my-rye", "L/1")
        assert list(client.list_lots("my-rye")) == []
        assert {one["feel"] for one in client.list_feels()} >= {"too_wet", "workable"}
        assert len(list(client.list_limits(market="eu", limit=50))) > 100
        assert client.get_ready().status == "ready"
        assert client.explain_problem("stale")["code"] == "stale"
        key = client.make_key({"label": "bench"})
        keyed = Client(key=key["key"], http=http)
        assert [one["label"] for one in keyed.list_keys()["items"]] == ["bench"]
        with pytest.raises(ProblemError, match="key"):
            list(client.list_doughs())


def test_both_clients_answer_alike(shop: FastAPI) -> None:
    bodies = [{"recipe": makers.recipe(seed), "report": makers.report(seed)} for seed in range(3)]

    async def asked() -> tuple[Any, ...]:
        transport = httpx.ASGITransport(shop)
        async with AsyncClient(
            http=httpx.AsyncClient(base_url="http://testserver", transport=transport)
        ) as client:
            made = await client.add_dough(bodies[0])
            with pytest.raises(ProblemError, match="key"):
                await client.get_material("no-such")
            return (
                await client.correct(bodies[0]),
                [one async for one in client.sweep_lines(bodies)],
                [one.key async for one in client.list_materials("betaine", limit=1)],
                [one.id async for one in client.list_doughs()] == [made.id],
            )

    answer, lines, keys, listed = asyncio.run(asked())
    with TestClient(shop) as http:
        client = Client(http=http)
        assert client.correct(bodies[0]) == answer
        assert list(client.sweep_lines(bodies)) == lines
        assert [one.key for one in client.materials("betaine")] == keys
        assert listed
