"""The description of the API is valid, complete, and true."""

import re
from typing import Any

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient
from jsonschema import Draft202012Validator
from openapi_spec_validator import OpenAPIV31SpecValidator

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
    assert all(
        re.fullmatch(r"[A-Za-z]+(-Input|-Output)?", name) for name in described["components"]["schemas"]
    )


def test_every_example_is_as_its_schema_says(described: dict[str, Any]) -> None:
    for path, method, operation in operations(described):
        bodies = [operation.get("requestBody", {}), *operation["responses"].values()]
        for body in bodies:
            for media, content in body.get("content", {}).items():
                shown = [one["value"] for one in content.get("examples", {}).values()]
                shown += [content["example"]] if "example" in content else []
                for value in shown:
                    errors = list(validator(described, content["schema"]).iter_errors(value))
                    assert not errors, (path, method, media, errors[0].message[:300])


def test_every_operation_shows_an_answer(described: dict[str, Any]) -> None:
    shown = {sample.path for sample in samples()}
    for path, method, operation in operations(described):
        if method == "GET" and path != "/v1/backup":
            assert "example" in operation["responses"]["200"]["content"]["application/json"], path
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


def test_every_route_of_the_version_is_described(app: FastAPI, described: dict[str, Any]) -> None:
    served = {
        (route.path, method)  # type: ignore[attr-defined]
        for route in app.routes
        for method in getattr(route, "methods", None) or ()
        if getattr(route, "path", "").startswith("/v1/")
    }
    assert served == {(path, method) for path, method, _ in operations(described) if path.startswith("/v1/")}
