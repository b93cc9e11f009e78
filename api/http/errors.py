"""What can go wrong over HTTP and nowhere else, as branches of the tree of errors."""

from collections.abc import Mapping, Sequence
from typing import Any, TypeVar

from advisor.errors import AdvisorError, Fault

Thing = TypeVar("Thing")


class HTTPError(AdvisorError):
    """The request cannot be served as it was sent."""

    status = 400

    def __init__(
        self,
        detail: str,
        faults: Sequence[Fault] = (),
        headers: Mapping[str, str] | None = None,
        **extra: Any,
    ) -> None:
        super().__init__(detail, faults, **extra)
        self.headers = dict(headers or {})


class InvalidJSON(HTTPError):
    """The body is no JSON in UTF-8, gives a field twice, or is nested too deep."""

    code = "invalid-json"
    title = "The body is no JSON"
    remedy = "Send one JSON value in UTF-8, each field once, without NaN or Infinity."


class ForeignOrigin(HTTPError):
    """A web page of another site tried to use this server through a visitor's browser."""

    code = "foreign-origin"
    title = "Another site may not call this server"
    remedy = "Call from the server's own page, or let its operator add the origin."
    status = 403


class NotFound(HTTPError):
    """Nothing is kept under this address."""

    code = "not-found"
    title = "Nothing is here"
    remedy = "Check the address; /docs lists all that there are."
    status = 404


def existing(found: Thing | None, detail: str) -> Thing:
    """Return what was looked for.

    Raises
    ------
    NotFound
        It is None.
    """
    if found is None:
        raise NotFound(detail)
    return found


class MethodNotAllowed(HTTPError):
    """The address exists, but this method does nothing there."""

    code = "method-not-allowed"
    title = "This method does nothing here"
    remedy = "Use one of the methods in the header Allow."
    status = 405


class NotAcceptable(HTTPError):
    """The header Accept leaves out every form the answer can take."""

    code = "not-acceptable"
    title = "No such form of the answer"
    remedy = "Accept one of the forms the detail names, or send no header Accept."
    status = 406


class TooLarge(HTTPError):
    """The body has more bytes than the server reads."""

    code = "too-large"
    title = "The body is too large"
    remedy = "Send less at a time."
    status = 413


class NotJSON(HTTPError):
    """The body is not declared as JSON."""

    code = "not-json"
    title = "The body is not declared as JSON"
    remedy = "Send Content-Type: application/json, in UTF-8 and not compressed."
    status = 415


class WrongHost(HTTPError):
    """The header Host names a server this one is not."""

    code = "wrong-host"
    title = "This server does not go by that name"
    remedy = "Use the server's own name or address, or let its operator add the name."
    status = 421


class TooMany(HTTPError):
    """One caller has more requests under way than the server grants to one."""

    code = "too-many"
    title = "Too many requests at one time"
    remedy = "Wait for answers before asking more; try again after the seconds in the header Retry-After."
    status = 429


class Internal(HTTPError):
    """A fault of the server; what happened is in its log under the id in instance."""

    code = "internal"
    title = "A fault of this server"
    remedy = "Report it with the id in instance. The request is not to blame."
    status = 500


class Busy(HTTPError):
    """The server has as much to do as it takes on."""

    code = "busy"
    title = "The server is busy"
    remedy = "Try again after the seconds in the header Retry-After."
    status = 503
