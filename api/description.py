"""The description of the API in OpenAPI 3.1: FastAPI's own, and what may be refused besides."""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from functools import lru_cache
from typing import Any

from fastapi import FastAPI
from pydantic import BaseModel
from pydantic.json_schema import models_json_schema
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from advisor.errors import AdvisorError, NoRecipeFits, UnknownMaterial
from advisor.rulebook.load import load_rulebook
from advisor.schema.base import spelled_out
from api.http.answering import JSON
from api.http.problem_shapes import NoRecipeFitsProblem, Problem, UnknownMaterialProblem
from api.http.problems import MEDIA_TYPE
from api.http.route import Route

ABOUT = (
    "Corrects the recipe of a hand-kneaded cleansing bar whose dough failed, and what belongs to it. "
    "Percent run from 0 to 100 of the recipe by mass, masses are grams, times hours or minutes, temperatures "
    "degrees Celsius. Every calculation is deterministic and keeps nothing. Answers may gain fields; clients "
    "ignore those they do not know. Whatever goes wrong is told as a problem (RFC 9457)."
)
TAGS = [
    {"name": name, "description": text}
    for name, text in {
        "Calculations": "Recipes in, recipes and reasons out.",
        "Materials": "Materials as supplied.",
        "Notebook": "What a shop keeps: materials, lots, bench tests, recipes, doughs, and what they teach.",
        "Keys": "What tells shops apart: without keys there is one shop, on this machine only.",
        "Rules": "What the advisor goes by, each with basis and source.",
        "Server": "The server itself.",
    }.items()
]
LICENSE = {"name": "MIT", "identifier": "MIT"}
_BODY_OF: dict[type[AdvisorError], type[Problem]] = {
    UnknownMaterial: UnknownMaterialProblem,
    NoRecipeFits: NoRecipeFitsProblem,
}
_RETRIED = (429, 503)
_REF = "#/components/schemas/{model}"
Examples = Mapping[str, Any]


def add_description(app: FastAPI) -> None:
    """Let the application describe itself to everybody at /openapi.json, worked out and written once."""
    generated = app.openapi

    @lru_cache(maxsize=1)
    def described() -> dict[str, Any]:
        found = generated()
        bodies: list[type[BaseModel]] = [Problem, *_BODY_OF.values()]
        _, shapes = models_json_schema([(body, "validation") for body in bodies], ref_template=_REF)
        found["components"]["schemas"] |= shapes["$defs"]
        found["components"] = spelled_out(found["components"], load_rulebook().words)
        for route in app.routes:
            if isinstance(route, Route):
                for method in route.methods or ():
                    _complete(found["paths"][route.path_format][method.lower()], route)
        return found

    @lru_cache(maxsize=1)
    def written() -> bytes:
        return bytes(JSONResponse(described()).body)

    async def told(_: Request) -> Response:
        return Response(written(), media_type=JSON)

    app.openapi = described  # type: ignore[method-assign]
    app.add_route("/openapi.json", told, ["GET"], include_in_schema=False)


def _complete(operation: dict[str, Any], route: Route) -> None:
    """Add what FastAPI has no words for: problems, other media types of the body, keys nobody made."""
    for parameter in operation.get("parameters", ()):
        parameter["schema"] = _plain(parameter["schema"])
    operation.setdefault("security", []).append({})
    if route.sent is not None:
        content = operation["requestBody"]["content"]
        content[JSON]["examples"] = route.sent.examples
        for media, about in route.sent.takes.items():
            content[media] = {"schema": {"type": "string", "description": about}}
    told = _examples(operation, route)
    by_status: dict[int, list[type[AdvisorError]]] = defaultdict(list)
    for error in route.errors:
        by_status[error.status].append(error)
    for status, errors in sorted(by_status.items()):
        operation["responses"][str(status)] = _problem(status, errors, told.get(status, {}))


def _examples(operation: dict[str, Any], route: Route) -> dict[int | str, Examples]:
    """Put the examples of answers in whole, for FastAPI leaves their nulls out; return those of problems."""
    told: dict[int | str, Examples] = {}
    for status, answer in route.responses.items():
        examples = answer.get("content", {}).get(JSON, {}).get("examples")
        if examples and int(status) < 400:
            operation["responses"][str(status)]["content"][JSON]["examples"] = examples
        elif examples:
            told[status] = examples
    return told


def _plain(schema: dict[str, Any]) -> dict[str, Any]:
    """Return the schema of a parameter: what may be left out of an address is never null."""
    kept = [one for one in schema.get("anyOf", ()) if one != {"type": "null"}]
    whole = {**(kept[0] if len(kept) == 1 else {}), **schema}
    return {name: value for name, value in whole.items() if name not in ("anyOf", "title", "default")}


def _problem(status: int, errors: Sequence[type[AdvisorError]], told: Examples) -> dict[str, Any]:
    names = dict.fromkeys(_BODY_OF.get(error, Problem).__name__ for error in errors)
    schemas = [{"$ref": _REF.format(model=name)} for name in names]
    found: dict[str, Any] = {
        "description": " ".join(f"{error.title} ({error.code})." for error in errors),
        "content": {
            MEDIA_TYPE: {
                "schema": schemas[0] if len(schemas) == 1 else {"anyOf": schemas},
                "examples": told or dict(_worked(errors)),
            }
        },
    }
    if status in _RETRIED:
        found["headers"] = {
            "Retry-After": {"description": "Seconds to wait.", "schema": {"type": "integer", "minimum": 0}}
        }
    return found


def _worked(errors: Sequence[type[AdvisorError]]) -> Iterator[tuple[str, dict[str, Any]]]:
    for error in errors:
        value = {
            "type": f"/problems/{error.code}",
            "title": error.title,
            "status": error.status,
            "detail": error.remedy,
            "code": error.code,
            "instance": "urn:uuid:6f0a2f1e-58f5-4f4e-9f3b-0d6f4f8c2b11",
            "errors": [],
            **({"nearest_keys": ["betaine-30"]} if error is UnknownMaterial else {}),
            **(
                {"conflict": [], "nearest": None, "advice": [], "rules_version": ""}
                if error is NoRecipeFits
                else {}
            ),
        }
        yield error.code, {"summary": error.title, "value": value}
