"""Describes the API in OpenAPI 3.1, from the operations and the shapes themselves."""

import inspect
import json
import re
from collections import defaultdict
from collections.abc import Iterable, Sequence
from typing import Any, get_args

from pydantic import BaseModel
from pydantic.json_schema import GenerateJsonSchema, JsonSchemaMode, JsonSchemaValue, models_json_schema
from pydantic_core import core_schema

from advisor.errors import AdvisorError, InvalidRequest, NoRecipeFits, UnknownMaterial
from advisor.rulebook.load import load_rulebook
from advisor.schema.base import Asked
from advisor.schema.material import PercentFigure, PriceFigure, UptakeFigure
from advisor.schema.server import MaterialsPage
from advisor.schema.words import spelled_out
from api.http.errors import (
    Busy,
    ForeignOrigin,
    Internal,
    InvalidJSON,
    NotAcceptable,
    NotFound,
    NotJSON,
    TooLarge,
    TooMany,
    WrongHost,
)
from api.http.negotiation import JSON
from api.http.problems import MEDIA_TYPE
from api.operation import Operation
from api.samples import Sample, samples
from api.shapes import NoRecipeFitsProblem, Problem, UnknownMaterialProblem

_ABOUT = (
    "Corrects the recipe of a hand-kneaded cleansing bar whose dough failed, and what belongs to it. "
    "Percent run from 0 to 100 of the recipe by mass, masses are grams, times hours or minutes, temperatures "
    "degrees Celsius. Every calculation is deterministic and keeps nothing. Answers may gain fields; clients "
    "ignore those they do not know. Whatever goes wrong is told as a problem (RFC 9457)."
)
_TAGS = {
    "Calculations": "Recipes in, recipes and reasons out.",
    "Materials": "Materials as supplied.",
    "Notebook": "What a shop keeps: its own materials, lots, bench tests and doughs, and what they teach.",
    "Keys": "What tells shops apart: without keys there is one shop, on this machine only.",
    "Rules": "What the advisor goes by, each with basis and source.",
    "Server": "The server itself.",
}
_ANY: tuple[type[AdvisorError], ...] = (NotAcceptable, WrongHost, TooMany, Busy, Internal)
_CHANGING: tuple[type[AdvisorError], ...] = (ForeignOrigin,)
_WITH_BODY: tuple[type[AdvisorError], ...] = (InvalidJSON, NotJSON, TooLarge, InvalidRequest)
_BODY_OF: dict[type[AdvisorError], type[Problem]] = {
    UnknownMaterial: UnknownMaterialProblem,
    NoRecipeFits: NoRecipeFitsProblem,
}
_RETRIED = (429, 503)
_OUTSIDE = ("default", "description")
_FIGURES = {"PercentFigure": PercentFigure, "UptakeFigure": UptakeFigure, "PriceFigure": PriceFigure}
_STATUS_WORDS = {200: "The answer.", 201: "It is new.", 204: "It is gone.", 304: "It is still the same."}

Shapes = dict[tuple[type[BaseModel], JsonSchemaMode], JsonSchemaValue]


class _Schema(GenerateJsonSchema):
    """Shapes as the API takes them: what a request may leave out may also be null."""

    def field_title_should_be_set(self, schema: Any) -> bool:
        return False

    def model_schema(self, schema: core_schema.ModelSchema) -> JsonSchemaValue:
        found = super().model_schema(schema)
        if self.mode == "validation" and issubclass(schema["cls"], Asked):
            required = found.get("required", ())
            for name, field in found.get("properties", {}).items():
                if name not in required:
                    found["properties"][name] = _nullable(field)
        return found


def _nullable(field: JsonSchemaValue) -> JsonSchemaValue:
    null = {"type": "null"}
    if null in field.get("anyOf", ()):
        return field
    if "anyOf" in field:
        return {**field, "anyOf": [*field["anyOf"], null]}
    outside: JsonSchemaValue = {name: field[name] for name in _OUTSIDE if name in field}
    inside = {name: value for name, value in field.items() if name not in outside}
    return {"anyOf": [inside, null], **outside}


def describe(operations: Sequence[Operation], version: str) -> dict[str, Any]:
    """Return the OpenAPI description of some operations."""
    shapes, components = _shapes(operations)
    paths: dict[str, dict[str, Any]] = defaultdict(dict)
    for operation in operations:
        paths[operation.path][operation.method.lower()] = _operation(operation, shapes)
    return {
        "openapi": "3.1.0",
        "info": {
            "title": "dough-advisor",
            "version": version,
            "description": _ABOUT,
            "license": {"name": "MIT", "identifier": "MIT"},
        },
        "tags": [
            {"name": name, "description": text}
            for name, text in _TAGS.items()
            if any(operation.tag == name for operation in operations)
        ],
        "paths": dict(paths),
        "components": {"schemas": components},
    }


def _mode(shape: type[BaseModel]) -> JsonSchemaMode:
    """Return how a shape is described: materials are answered as they may be sent."""
    return "validation" if issubclass(shape, (Asked, MaterialsPage)) else "serialization"


def _shapes(operations: Iterable[Operation]) -> tuple[Shapes, dict[str, Any]]:
    wanted: dict[tuple[type[BaseModel], JsonSchemaMode], None] = {}
    for operation in operations:
        if operation.request is not None:
            wanted[operation.request, "validation"] = None
        for shape in operation.answers.values():
            if shape is not None:
                wanted[shape, _mode(shape)] = None
    problems: tuple[type[BaseModel], ...] = (Problem, *_BODY_OF.values())
    for problem in problems:
        wanted[problem, "serialization"] = None
    order = list(wanted)
    found, definitions = models_json_schema(
        order, ref_template="#/components/schemas/{model}", schema_generator=_Schema
    )
    text = json.dumps(
        spelled_out([[found[one] for one in order], definitions["$defs"]], load_rulebook().words)
    )
    for name, figure in _FIGURES.items():
        text = text.replace(_plain(get_args(figure)[1].__name__), name)
    schemas, components = json.loads(text)
    return dict(zip(order, schemas, strict=True)), components


def _plain(name: str) -> str:
    return re.sub(r"[^a-zA-Z0-9.\-_]", "_", name)


def _operation(operation: Operation, shapes: Shapes) -> dict[str, Any]:
    told = [sample for sample in samples() if sample.path == operation.path and operation.request is not None]
    found: dict[str, Any] = {
        "operationId": operation.operation_id,
        "summary": operation.summary,
        "tags": [operation.tag],
        "parameters": _parameters(operation),
        "responses": _responses(operation, shapes, told),
    }
    if operation.request is not None:
        content: dict[str, Any] = {"schema": shapes[operation.request, "validation"]}
        if told:
            content["examples"] = {sample.name: _example(sample, sample.request) for sample in told}
        elif operation.sent is not None:
            content["example"] = operation.sent()
        found["description"] = inspect.getdoc(operation.request) or ""
        others = {media: _text(about) for media, about in operation.takes.items()}
        found["requestBody"] = {"required": True, "content": {JSON: content, **others}}
    return found


def _text(about: str) -> dict[str, Any]:
    return {"schema": {"type": "string", "description": about}}


def _example(sample: Sample, value: Any) -> dict[str, Any]:
    return {"summary": sample.title, "description": sample.about, "value": value}


def _parameters(operation: Operation) -> list[dict[str, Any]]:
    places = [part[1:-1] for part in operation.path.split("/") if part.startswith("{")]
    parameters: list[dict[str, Any]] = [
        {
            "name": name,
            "in": "path",
            "required": True,
            "schema": {"type": "string"},
            "example": operation.parameters[name],
        }
        for name in places
    ]
    if operation.query is not None:
        schema = operation.query.model_json_schema(schema_generator=_Schema)
        for name, field in schema["properties"].items():
            parameter = {"name": name, "in": "query", "required": False, "schema": _never_null(field)}
            if name in operation.parameters:
                parameter["example"] = operation.parameters[name]
            parameters.append(parameter)
    parameters += [
        {
            "name": name,
            "in": "header",
            "required": False,
            "description": about,
            "schema": {"type": "string"},
        }
        for name, about in operation.headers.items()
    ]
    return parameters


def _never_null(field: JsonSchemaValue) -> JsonSchemaValue:
    kept = [one for one in field.get("anyOf", ()) if one != {"type": "null"}]
    if len(kept) != 1:
        return field
    return {**kept[0], **{name: value for name, value in field.items() if name not in ("anyOf", "default")}}


def _responses(operation: Operation, shapes: Shapes, told: Sequence[Sample]) -> dict[str, Any]:
    responses: dict[str, Any] = {}
    for place, (status, shape) in enumerate(operation.answers.items()):
        responses[str(status)] = {"description": _STATUS_WORDS.get(status, "The answer.")}
        forms = {media: _text(about) for media, about in operation.forms.items()}
        if shape is None:
            responses[str(status)].update({"content": forms} if forms else {})
            continue
        content: dict[str, Any] = {"schema": shapes[shape, _mode(shape)]}
        worked = {s.name: _example(s, s.answer) for s in told if s.status == status}
        if worked:
            content["examples"] = worked
        elif operation.example is not None and place == 0:
            content["example"] = operation.example()
        responses[str(status)]["content"] = {JSON: content, **forms}
    by_status: dict[int, list[type[AdvisorError]]] = defaultdict(list)
    for error in dict.fromkeys(_errors(operation)):
        by_status[error.status].append(error)
    for status, errors in sorted(by_status.items()):
        responses[str(status)] = _problem(status, errors, shapes, [s for s in told if s.status == status])
    return responses


def _errors(operation: Operation) -> Iterable[type[AdvisorError]]:
    yield from _ANY
    if operation.method != "GET":
        yield from _CHANGING
    if operation.request is not None:
        yield from _WITH_BODY
    if "{" in operation.path:
        yield NotFound
    yield from operation.errors


def _problem(
    status: int, errors: Sequence[type[AdvisorError]], shapes: Shapes, told: Sequence[Sample]
) -> dict[str, Any]:
    bodies = list(dict.fromkeys(_BODY_OF.get(error, Problem) for error in errors))
    schemas = [shapes[body, "serialization"] for body in bodies]
    content: dict[str, Any] = {"schema": schemas[0] if len(schemas) == 1 else {"anyOf": schemas}}
    if told:
        content["examples"] = {sample.name: _example(sample, sample.answer) for sample in told}
    else:
        content["examples"] = {
            error.code: {"summary": error.title, "value": _worked(error)} for error in errors
        }
    found: dict[str, Any] = {
        "description": " ".join(f"{error.title} ({error.code})." for error in errors),
        "content": {MEDIA_TYPE: content},
    }
    if status in _RETRIED:
        found["headers"] = {
            "Retry-After": {"description": "Seconds to wait.", "schema": {"type": "integer", "minimum": 0}}
        }
    return found


def _worked(error: type[AdvisorError]) -> dict[str, Any]:
    return {
        "type": f"/problems/{error.code}",
        "title": error.title,
        "status": error.status,
        "detail": error.remedy,
        "code": error.code,
        "instance": "urn:uuid:6f0a2f1e-58f5-4f4e-9f3b-0d6f4f8c2b11",
        "errors": [],
        **({"nearest_keys": ["betaine-30"]} if error is UnknownMaterial else {}),
        **({"conflict": [], "nearest": None, "advice": []} if error is NoRecipeFits else {}),
    }
