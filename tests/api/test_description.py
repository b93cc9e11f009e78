"""The description of the API is valid, complete, and true."""

import json
import re
from typing import Any

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient
from jsonschema import Draft202012Validator
from openapi_spec_validator import OpenAPIV31SpecValidator
from starlette.responses import JSONResponse

from advisor.correction.schema import CorrectionRequest
from api.samples import samples

FIXED_IDS = {
    "assess": "POST /v1/assessments",
    "correct": "POST /v1/corrections",
    "list_materials": "GET /v1/materials",
    "get_material": "GET /v1/materials/{key}",
    "list_feels": "GET /v1/feels",
    "list_limits": "GET /v1/limits",
    "list_frames": "GET /v1/frames",
    "get_health": "GET /health",
    "explain_problem": "GET /problems/{code}",
}


@pytest.fixture(scope="module")
def described(client: TestClient) -> dict[str, Any]:
    found: dict[str, Any] = client.get("/openapi.json").json()
    return found


def test_the_description_is_written_once(client: TestClient, monkeypatch: pytest.MonkeyPatch) -> None:
    first = client.get("/openapi.json")
    monkeypatch.setattr(JSONResponse, "render", None)
    again = client.get("/openapi.json")
    assert again.content == first.content and again.headers["content-type"] == "application/json"
    assert client.head("/openapi.json").status_code == 200


def operations(described: dict[str, Any]) -> list[tuple[str, str, dict[str, Any]]]:
    return [
        (path, method.upper(), operation)
        for path, methods in described["paths"].items()
        for method, operation in methods.items()
    ]


def validator(described: dict[str, Any], schema: dict[str, Any]) -> Draft202012Validator:
    return Draft202012Validator({**schema, "components": described["components"]})


def test_it_is_openapi_3_1(described: dict[str, Any]) -> None:
    assert described["openapi"].startswith("3.1.")
    assert not list(OpenAPIV31SpecValidator(described).iter_errors())


def test_operation_ids_are_fixed(described: dict[str, Any]) -> None:
    found = [operation["operationId"] for _, _, operation in operations(described)]
    assert len(found) == len(set(found))
    named = {o["operationId"]: f"{method} {path}" for path, method, o in operations(described)}
    assert named.items() >= FIXED_IDS.items()


def test_every_schema_has_a_plain_name(described: dict[str, Any]) -> None:
    assert all(re.fullmatch(r"[A-Za-z]+", name) for name in described["components"]["schemas"])


def test_nothing_optional_of_a_request_has_a_default(described: dict[str, Any]) -> None:
    shapes = described["components"]["schemas"]
    waiting = [o["requestBody"] for _, _, o in operations(described) if "requestBody" in o]
    seen: set[str] = set()
    while waiting:
        schema = json.dumps(waiting.pop())
        for name in set(re.findall(r"#/components/schemas/(\w+)", schema)) - seen:
            seen.add(name)
            waiting.append(shapes[name])
            for field, one in shapes[name].get("properties", {}).items():
                assert "default" not in one, (name, field)
    assert len(seen) > 30


def test_every_writing_call_shows_what_is_sent(described: dict[str, Any]) -> None:
    for path, method, operation in operations(described):
        if "requestBody" in operation:
            examples = operation["requestBody"]["content"]["application/json"]["examples"]
            assert examples, (path, method)
            assert all(one["summary"] for one in examples.values()), (path, method)


def test_keys_are_described(described: dict[str, Any]) -> None:
    schemes = described["components"]["securitySchemes"]
    assert schemes["key"]["scheme"] == "bearer"
    assert (schemes["device"]["in"], schemes["device"]["name"]) == ("cookie", "dough_key")
    for path, method, operation in operations(described):
        needs_key = "401" in operation["responses"]
        assert needs_key == path.startswith("/v1/"), (path, method)
        assert needs_key == ({"key": []} in operation.get("security", [])), (path, method)


def test_what_may_grow_is_no_closed_list(described: dict[str, Any]) -> None:
    schemas = described["components"]["schemas"]
    for shape, field in (("Shift", "what"), ("TextItem", "id"), ("Problem", "code")):
        assert "enum" not in schemas[shape]["properties"][field]
        assert schemas[shape]["properties"][field]["examples"]


def test_every_example_is_as_its_schema_says(described: dict[str, Any]) -> None:
    for path, method, operation in operations(described):
        bodies = [operation.get("requestBody", {}), *operation["responses"].values()]
        for body in bodies:
            for media, content in body.get("content", {}).items():
                shown = [one["value"] for one in content.get("examples", {}).values()]
                for value in shown:
                    errors = list(validator(described, content["schema"]).iter_errors(value))
                    assert not errors, (path, method, media, errors[0].message[:300])


def test_every_operation_shows_an_answer(described: dict[str, Any]) -> None:
    shown = {sample.path for sample in samples()}
    for path, method, operation in operations(described):
        if method == "GET" and path != "/v1/backup":
            assert operation["responses"]["200"]["content"]["application/json"]["examples"], path
        if path in shown:
            assert operation["requestBody"]["content"]["application/json"]["examples"], path


def test_every_sample_is_an_example(described: dict[str, Any]) -> None:
    for sample in samples():
        operation = described["paths"][sample.path]["post"]
        examples = operation["requestBody"]["content"]["application/json"]["examples"]
        assert examples[sample.name]["value"] == sample.request


def test_what_may_be_left_out_may_be_null(described: dict[str, Any], good: dict[str, Any]) -> None:
    schema = {"$ref": "#/components/schemas/CorrectionRequest"}
    for body in (
        {**good, "wishes": None},
        {**good, "report": {"feel": "too_wet", "degree": None, "signs": None}},
        {**good, "wishes": {"fixed": None, "market": None}},
    ):
        CorrectionRequest.model_validate(body)
        assert validator(described, schema).is_valid(body)
    assert not validator(described, schema).is_valid({**good, "report": None})


def test_what_is_answered_is_described(
    client: TestClient, described: dict[str, Any], good: dict[str, Any]
) -> None:
    asked = [
        ("GET", "/v1/materials", client.get("/v1/materials?limit=200")),
        ("GET", "/v1/materials/{key}", client.get("/v1/materials/kaolin")),
        ("GET", "/v1/materials/{key}", client.get("/v1/materials/nothing")),
        ("GET", "/v1/feels", client.get("/v1/feels")),
        ("GET", "/v1/limits", client.get("/v1/limits")),
        ("GET", "/v1/frames", client.get("/v1/frames")),
        ("GET", "/health", client.get("/health")),
        ("POST", "/v1/corrections", client.post("/v1/corrections", json=good)),
        ("POST", "/v1/corrections", client.post("/v1/corrections", json={})),
        ("POST", "/v1/corrections", client.post("/v1/corrections", content=b"{")),
    ]
    for method, path, answer in asked:
        operation = described["paths"][path][method.lower()]
        content = operation["responses"][str(answer.status_code)]["content"][answer.headers["content-type"]]
        errors = list(validator(described, content["schema"]).iter_errors(answer.json()))
        assert not errors, (path, errors[0].message[:300])


def test_that_nothing_fits_is_told_as_it_is_described(client: TestClient, described: dict[str, Any]) -> None:
    excluding = next(sample for sample in samples() if sample.name == "wishes-that-exclude-each-other")
    asked = {"/v1/drafts": {"shelf": ["kaolin", "glycerin"]}, excluding.path: excluding.request}
    shape = {"$ref": "#/components/schemas/NoRecipeFitsProblem", "unevaluatedProperties": False}
    for path, body in asked.items():
        answer = client.post(path, json=body)
        assert answer.json()["code"] == "no-recipe-fits"
        assert not list(validator(described, shape).iter_errors(answer.json())), path


def test_every_operation_says_who_may_call_it_and_what_it_does(described: dict[str, Any]) -> None:
    assert described["servers"]
    for path, method, operation in operations(described):
        assert {} in operation["security"], (path, method)
        assert operation["description"].strip(), (path, method)


def test_every_route_of_the_version_is_described(app: FastAPI, described: dict[str, Any]) -> None:
    served = {
        (route.path_format, method)  # type: ignore[attr-defined]
        for route in app.routes
        for method in getattr(route, "methods", None) or ()
        if getattr(route, "path", "").startswith("/v1/")
    }
    assert served == {(path, method) for path, method, _ in operations(described) if path.startswith("/v1/")}
