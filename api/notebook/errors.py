"""What can go wrong with stored things, as branches of the tree of errors."""

import errno

from advisor.errors import InvalidRequest
from api.http.errors import HTTPError


class KeyNeeded(HTTPError):
    """Shops are told apart by keys here, and this request carries none that is valid."""

    code = "key-needed"
    title = "A key is needed"
    remedy = (
        "Send the key of your shop in the header Authorization: Bearer KEY, or open the link of the server. "
        "On the server's own machine, dough-advisor keys make NAME makes a new key and needs none."
    )
    status = 401


class RoleNeeded(HTTPError):
    """The key is valid, but what is asked is for keys that may do more."""

    code = "role-needed"
    title = "This key may not do that"
    remedy = "Use a key of the role the detail names; an owner's key makes one."
    status = 403


class Conflict(HTTPError):
    """The request contradicts what was done before."""

    code = "conflict"
    title = "It contradicts what was done before"
    remedy = "Do what the detail says; a new request needs a new Idempotency-Key."
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


class FileRefused(InvalidRequest):
    """A backup cannot be written to that file, or restored from it."""

    title = "That file cannot be used"


def cause_of(error: BaseException) -> str:
    """Return what lies below a failure as a name without contents: of SQLite, of PostgreSQL or of the disk.

    Examples
    --------
    >>> cause_of(OSError(28, "No space left on device"))
    'OSError ENOSPC'
    """
    below = error.__cause__ or error
    below = getattr(below, "orig", None) or below
    number = getattr(below, "errno", None)
    named = (
        getattr(below, "sqlite_errorname", None)
        or getattr(below, "sqlstate", None)
        or errno.errorcode.get(number or 0)
    )
    return " ".join(filter(None, (type(below).__name__, named)))
