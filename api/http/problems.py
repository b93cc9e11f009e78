"""Where whatever went wrong becomes the status and body of a problem (RFC 9457)."""

from typing import Any

from fastapi.exceptions import RequestValidationError
from starlette.exceptions import HTTPException
from starlette.responses import JSONResponse, Response

from advisor.errors import AdvisorError, Fault, InvalidRequest, pointer_part
from advisor.schema.base import MOST_FAULTS
from api.http.errors import Busy, HTTPError, Internal, MethodNotAllowed, NotFound

MEDIA_TYPE = "application/problem+json"
_RETRY_AFTER_SECONDS = 1
_OF_STATUS: dict[int, tuple[type[HTTPError], str]] = {
    404: (NotFound, "Nothing is kept under this address."),
    405: (MethodNotAllowed, "The address exists, but not for this method."),
}


def as_error(exception: Exception) -> AdvisorError:
    """Return the error of the tree that an exception is answered as."""
    match exception:
        case AdvisorError() if exception.status != 500 or isinstance(exception, Internal):
            return exception
        case HTTPException() if exception.status_code in _OF_STATUS:
            error, detail = _OF_STATUS[exception.status_code]
            return error(detail, headers=exception.headers)
        case RequestValidationError():
            return InvalidRequest(
                "A parameter of the query is wrong.",
                [
                    Fault(f"?{pointer_part(str(fault['loc'][-1]))}", fault["msg"])
                    for fault in exception.errors()
                ],
            )
        case MemoryError():
            return Busy("The server has no memory left for this request.")
        case _:
            return Internal("The server met a fault while it worked on this request.")


def problem_response(error: AdvisorError, request_id: str) -> Response:
    """Return the answer that tells an error; ``request_id`` is the id the log knows it by."""
    body: dict[str, Any] = {**error.problem(), "instance": f"urn:uuid:{request_id}"}
    left_out = len(body["errors"]) - MOST_FAULTS
    if left_out > 0:
        body["errors"] = body["errors"][:MOST_FAULTS]
        body["detail"] += f" The first {MOST_FAULTS} places are named; {left_out} more are wrong."
    headers = dict(error.headers) if isinstance(error, HTTPError) else {}
    if error.status in (429, 503):
        headers.setdefault("Retry-After", str(_RETRY_AFTER_SECONDS))
    return JSONResponse(body, error.status, headers, MEDIA_TYPE)


def catalogue() -> dict[str, type[AdvisorError]]:
    """Return every kind of problem an answer may have, by its code."""
    return {kind.code: kind for kind in _kinds(AdvisorError) if "code" in vars(kind)}


def _kinds(kind: type[AdvisorError]) -> list[type[AdvisorError]]:
    return [found for below in kind.__subclasses__() for found in (below, *_kinds(below))]
