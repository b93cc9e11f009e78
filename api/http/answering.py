"""Which form of an answer the caller likes best, and how it becomes bytes with their headers."""

import hashlib
from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import Any, get_args

from pydantic import BaseModel
from starlette.requests import Request
from starlette.responses import Response

from advisor.printing.forms import CSV
from advisor.printing.spreadsheet import list_as_csv
from api.http.errors import NotAcceptable

JSON = "application/json"
AS_CSV = {CSV: "Its table, for a spreadsheet: a decimal point, commas between cells, no cell a formula."}


def chosen(request: Request, offers: Sequence[str] = (JSON,)) -> str:
    """Return the form of the answer the caller likes best; the first offer where it does not matter.

    Raises
    ------
    NotAcceptable
        Every offer is left out.
    """
    accept = ",".join(request.headers.getlist("accept"))
    if not accept.strip():
        return offers[0]
    best = max(offers, key=lambda offer: quality(accept, offer))
    if quality(accept, best) <= 0:
        raise NotAcceptable(f"The answer can be {' or '.join(offers)}.")
    return best


@lru_cache(maxsize=512)
def quality(accept: str, media: str) -> float:
    """Return how much a header Accept likes a media type (0..1); the most exact range decides.

    Examples
    --------
    >>> quality("text/html, application/*;q=0.5, */*;q=0.1", "application/json")
    0.5
    >>> quality("text/html", "application/json")
    0.0
    """
    found = (-1, 0.0)
    for part in accept.split(","):
        name, *parameters = (piece.strip().lower() for piece in part.split(";"))
        exactness = _exactness(name, media)
        if exactness > found[0]:
            found = (exactness, _weight(parameters))
    return found[1]


def _exactness(name: str, media: str) -> int:
    if name == media:
        return 2
    if name == f"{media.partition('/')[0]}/*":
        return 1
    return 0 if name == "*/*" else -1


def _weight(parameters: Sequence[str]) -> float:
    for parameter in parameters:
        name, _, value = parameter.partition("=")
        if name.strip() == "q":
            try:
                weight = float(value)
            except ValueError:
                return 0.0
            return weight if 0.0 <= weight <= 1.0 else 0.0
    return 1.0


VARY = {"Vary": "Accept"}
STILL: dict[int | str, dict[str, Any]] = {304: {"description": "It is still the same."}}


def shown(value: Any, forms: Mapping[str, str] | None = None) -> dict[str, Any]:
    """Return how an answer is described: an example of its JSON, and other forms by media type."""
    return {"content": {JSON: {"examples": {"example": {"value": value}}}, **in_forms(forms or {})}}


def in_forms(forms: Mapping[str, str]) -> dict[str, Any]:
    """Return how other forms of an answer are described, by media type."""
    return {media: {"schema": {"type": "string", "description": about}} for media, about in forms.items()}


def json_answer(answer: BaseModel, status: int = 200, *, vary: bool = False) -> Response:
    """Return an answer that is not to be kept; ``vary`` says that it has other forms."""
    headers = VARY if vary else None
    return Response(answer.__pydantic_serializer__.to_json(answer), status, headers, JSON)


def kept_answer(
    request: Request, answer: BaseModel, *, without_nulls: bool = False, private: bool = True
) -> Response:
    """Return an answer the caller may ask about again."""
    body = answer.__pydantic_serializer__.to_json(answer, exclude_none=without_nulls)
    return kept_text(request, body, private=private)


def kept_text(request: Request, body: bytes | str, *, private: bool = True) -> Response:
    """Answer a GET with a JSON text and its strong ETag, or with 304 where the caller has it.

    A list is answered as CSV where the caller likes that best; ``Link`` leads on to what follows. What a shop
    keeps is ``private``: nothing between the server and the caller, nor a browser, stores it.
    """
    raw = body if isinstance(body, bytes) else body.encode()
    headers = {"Cache-Control": "no-store" if private else "no-cache"}
    media = getattr(request.state, "form", JSON)
    if media == CSV:
        part = request.scope["route"].response_model.model_validate_json(raw)
        raw = list_as_csv(shape_of_list(type(part)), part.items).encode()
        following = getattr(part, "next", None)
        if following is not None:
            address = request.url.include_query_params(after=following)
            headers["Link"] = f'<{address.path}?{address.query}>; rel="next"'
    headers |= {"ETag": strong_tag(raw), **VARY}
    known = request.headers.get("if-none-match")
    if known is not None and (known.strip() == "*" or headers["ETag"] in _tags(known)):
        return Response(status_code=304, headers=headers)
    return Response(raw, headers=headers, media_type=media)


def shape_of_list(answer: Any) -> Any:
    """Return the shape of what an answer lists in ``items``, None where it is no list."""
    items = getattr(answer, "model_fields", {}).get("items")
    return None if items is None else get_args(items.annotation)[0]


def _tags(header: str) -> list[str]:
    return [part.strip().removeprefix("W/") for part in header.split(",")]


def strong_tag(body: bytes) -> str:
    """Return the strong entity tag of a body."""
    return f'"{hashlib.sha256(body).hexdigest()[:32]}"'


def stored(body: str, *, new: bool, address: str) -> Response:
    """Answer that a thing is kept: 201 with its address where it is new, else 200."""
    raw = body.encode()
    headers = {"ETag": strong_tag(raw), **({"Location": address} if new else {})}
    return Response(raw, 201 if new else 200, headers, JSON)


def gone() -> Response:
    """Answer that a thing is no longer kept."""
    return Response(status_code=204)


def text_of(thing: BaseModel) -> str:
    """Return a thing as it is kept and answered: nothing that is absent."""
    return thing.model_dump_json(exclude_none=True)
