"""Where what is kept becomes an answer: the text itself, its ETag, its address."""

from urllib.parse import quote

from pydantic import BaseModel
from starlette.requests import Request
from starlette.responses import Response

from api.http.answering import strong_tag
from api.http.negotiation import JSON


def kept_text(request: Request, body: str, media: str = JSON) -> Response:
    """Answer a GET with a kept text, or with 304 where the caller has it."""
    raw = body.encode()
    headers = {"ETag": strong_tag(raw), "Cache-Control": "no-cache"}
    known = request.headers.get("if-none-match")
    if known is not None and (known.strip() == "*" or headers["ETag"] in _tags(known)):
        return Response(status_code=304, headers=headers)
    return Response(raw, headers=headers, media_type=media)


def _tags(header: str) -> list[str]:
    return [part.strip().removeprefix("W/") for part in header.split(",")]


def stored(body: str, *, new: bool, address: str) -> Response:
    """Answer that a thing is kept: 201 with its address where it is new, else 200."""
    raw = body.encode()
    headers = {"ETag": strong_tag(raw), **({"Location": quote(address)} if new else {})}
    return Response(raw, 201 if new else 200, headers, JSON)


def gone() -> Response:
    """Answer that a thing is no longer kept."""
    return Response(status_code=204)


def text_of(thing: BaseModel) -> str:
    """Return a thing as it is kept and answered: nothing that is absent."""
    return thing.model_dump_json(exclude_none=True)
