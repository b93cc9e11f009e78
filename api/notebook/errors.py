"""What can go wrong with stored things, as branches of the tree of errors."""

from api.http.errors import HTTPError


class KeyNeeded(HTTPError):
    """Shops are told apart by keys here, and this request carries none that is valid."""

    code = "key-needed"
    title = "A key is needed"
    remedy = (
        "Send the key of your shop in the header Authorization: Bearer KEY, or open the link of the server."
    )
    status = 401


class Conflict(HTTPError):
    """The request contradicts an earlier one."""

    code = "conflict"
    title = "It contradicts an earlier request"
    remedy = "Use a new Idempotency-Key for a new request."
    status = 409


class Stale(HTTPError):
    """Somebody changed it in the meantime, or it exists although it must not."""

    code = "stale"
    title = "It has changed in the meantime"
    remedy = "Read it again, look at what changed, and send the change with the new ETag."
    status = 412


class IfMatchNeeded(HTTPError):
    """What exists is changed or removed only by those who have read it."""

    code = "if-match-needed"
    title = "The header If-Match is needed"
    remedy = "Read it first and send its ETag in the header If-Match."
    status = 428


class Storage(HTTPError):
    """The notebook cannot be read or written; the detail says why."""

    code = "storage"
    title = "The notebook cannot be read or written"
    remedy = "Do what the detail says; nothing was changed."
    status = 503
