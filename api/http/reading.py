"""Where the bytes of a request become plain values, or are refused."""

import json
from collections.abc import Sequence
from typing import Any, NoReturn

from starlette.requests import Request

from advisor.errors import Fault, InvalidRequest, pointer_part
from api.http.errors import InvalidJSON, NotJSON, TooLarge

DEEPEST = 64
_SEARCHED = 64 * 1024
MOST_ELEMENTS = 400_000
_OPENS = (b"{", b"[", b",")
MOST_MEMBERS = 2000


def declared(request: Request, taken: Sequence[str]) -> str:
    """Return the media type a body is declared as, one of those taken, in UTF-8 and not compressed.

    Raises
    ------
    NotJSON
    """
    written = request.headers.get("content-type", "")
    media, *parameters = (part.strip().lower() for part in written.split(";"))
    charsets = [value for part in parameters if (value := _charset(part))]
    if media not in taken or any(charset not in ("utf-8", "utf8") for charset in charsets):
        raise NotJSON(f"The header Content-Type must be {' or '.join(taken)}, in UTF-8.")
    if request.headers.get("content-encoding", "identity").strip().lower() != "identity":
        raise NotJSON("The body must not be compressed.")
    return media


def _charset(parameter: str) -> str:
    name, _, value = parameter.partition("=")
    return value.strip().strip('"') if name.strip() == "charset" else ""


async def read_bytes(request: Request, most_bytes: int) -> bytes:
    """Return the body of a request, whatever it says it is.

    Raises
    ------
    TooLarge
        Told by Content-Length or, without it, as soon as more has come.
    """
    told = request.headers.get("content-length", "0")
    if not told.isdigit() or int(told[:20]) > most_bytes:
        raise _too_large(most_bytes)
    body = bytearray()
    async for chunk in request.stream():
        body += chunk
        if len(body) > most_bytes:
            raise _too_large(most_bytes)
    return bytes(body)


def _too_large(most_bytes: int) -> TooLarge:
    return TooLarge(
        f"A body may have {most_bytes} bytes.", [Fault("", "has too many bytes", f"at most {most_bytes}")]
    )


def parse_json(raw: bytes) -> Any:
    """Return the value of a JSON text in UTF-8.

    Raises
    ------
    InvalidJSON
        It is no JSON or not in UTF-8, an object gives a field twice, a number is NaN or infinite, a string
        holds half a character, or it is nested deeper than 64.
    InvalidRequest
        It has more values, or an object more fields, than any request needs.

    Examples
    --------
    >>> parse_json(b'{"percent": 30}')
    {'percent': 30}
    >>> parse_json(b'{"percent": 30, "percent": 40}')
    Traceback (most recent call last):
        ...
    api.http.errors.InvalidJSON: A field stands twice in one object.
    """
    if sum(map(raw.count, _OPENS)) > MOST_ELEMENTS:
        raise InvalidRequest(
            f"The body has more than {MOST_ELEMENTS} values.",
            [Fault("", "has too many values", "send less at a time")],
        )
    try:
        text = raw.decode("utf-8")
    except UnicodeDecodeError as error:
        raise _invalid(f"Byte {error.start} is not UTF-8.") from None
    try:
        value = _DECODER.decode(text)
    except json.JSONDecodeError as error:
        raise _invalid(f"Line {error.lineno}, column {error.colno}: {error.msg}.") from None
    except _Doubled:
        raise InvalidJSON(
            "A field stands twice in one object.",
            [Fault(_twice(text), "stands twice", "keep one of them")],
        ) from None
    except RecursionError:
        raise _too_deep() from None
    except ValueError:
        raise _invalid("A number has too many digits.") from None
    if _depth(value) > DEEPEST:
        raise _too_deep()
    if "\\ud" in text or "\\uD" in text:
        _check_characters(value)
    return value


def in_steps(text: str) -> Any:
    """Return the value of a JSON text that was written here; at every object other threads have their turn.

    Examples
    --------
    >>> in_steps('{"doughs": [{}]}')
    {'doughs': [{}]}
    """
    return json.loads(text, object_hook=lambda one: one)


class _Doubled(Exception):
    """An object gives a field twice."""


class _Pairs(list[tuple[str, Any]]):
    """The fields of an object in the order they stand, doubles included."""


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    fields = dict(pairs)
    if len(fields) != len(pairs):
        raise _Doubled
    if len(pairs) > MOST_MEMBERS:
        raise InvalidRequest(
            f"An object has more than {MOST_MEMBERS} fields.", [Fault("", "an object has too many fields")]
        )
    return fields


def _no_number(_: str) -> NoReturn:
    raise _invalid("NaN and Infinity are no numbers in JSON.")


_DECODER = json.JSONDecoder(object_pairs_hook=_once, parse_constant=_no_number)


def _invalid(problem: str) -> InvalidJSON:
    return InvalidJSON("The body could not be read as JSON.", [Fault("", problem)])


def _too_deep() -> InvalidJSON:
    return InvalidJSON(
        "The body is nested too deep.", [Fault("", "is nested too deep", f"at most {DEEPEST} levels")]
    )


def _depth(value: Any) -> int:
    level, depth = [value], 0
    while level := [one for one in level if isinstance(one, dict | list)]:
        level = [below for one in level for below in (one.values() if isinstance(one, dict) else one)]
        depth += 1
    return depth


def _check_characters(value: Any) -> None:
    try:
        json.dumps(value, ensure_ascii=False).encode()
    except UnicodeEncodeError:
        raise _invalid("A string holds half a character (a lone surrogate).") from None


def _twice(text: str) -> str:
    """Return the place of the first field that stands twice; the whole body if it is large or no JSON."""
    if len(text) > _SEARCHED:
        return ""
    try:
        return _doubled(json.loads(text, object_pairs_hook=_Pairs), "")
    except (ValueError, RecursionError):
        return ""


def _doubled(value: Any, where: str) -> str:
    """Return the place of the first field that stands twice, or an empty string."""
    if isinstance(value, _Pairs):
        seen: set[str] = set()
        for name, below in value:
            place = f"{where}/{pointer_part(name)}"
            if name in seen:
                return place
            seen.add(name)
            if found := _doubled(below, place):
                return found
    elif isinstance(value, list):
        for index, below in enumerate(value):
            if found := _doubled(below, f"{where}/{index}"):
                return found
    return ""
