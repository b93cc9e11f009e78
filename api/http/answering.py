"""Where an answer becomes bytes with their headers."""

import hashlib

from pydantic import BaseModel
from starlette.requests import Request
from starlette.responses import Response

from api.http.negotiation import JSON


def json_answer(answer: BaseModel, status: int = 200, *, without_nulls: bool = False) -> Response:
    """Return an answer that is not to be kept."""
    body = answer.__pydantic_serializer__.to_json(answer, exclude_none=without_nulls)
    return Response(body, status, media_type=JSON)


def kept_answer(request: Request, answer: BaseModel, *, without_nulls: bool = False) -> Response:
    """Return an answer the caller may keep and ask about again: strong ETag, 304 if it is still the same."""
    body = answer.__pydantic_serializer__.to_json(answer, exclude_none=without_nulls)
    tag = strong_tag(body)
    headers = {"ETag": tag, "Cache-Control": "no-cache"}
    if _matches(request, tag):
        return Response(status_code=304, headers=headers)
    return Response(body, headers=headers, media_type=JSON)


def strong_tag(body: bytes) -> str:
    """Return the strong entity tag of a body."""
    return f'"{hashlib.sha256(body).hexdigest()[:32]}"'


def _matches(request: Request, tag: str) -> bool:
    asked = request.headers.get("if-none-match")
    if asked is None:
        return False
    return asked.strip() == "*" or tag in (part.strip().removeprefix("W/") for part in asked.split(","))
