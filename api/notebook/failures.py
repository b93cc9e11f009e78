"""Turns what a database or a disk says into what a maker can do about it."""

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy import exc

from api.http.errors import Busy
from api.notebook.errors import Storage

_ELSEWHERE = "or name another place in DOUGH_NOTEBOOK."
_SAID = (
    (
        ("full", "no space"),
        "There is no room left for the notebook {place}: make room on its disk, try again.",
    ),
    (
        ("readonly", "read-only", "unable to open", "permission"),
        "The notebook {place} cannot be written: allow this program to write there, " + _ELSEWHERE,
    ),
    (
        ("malformed", "not a database"),
        "The notebook {place} is damaged. It was left as it is: put back a copy of it.",
    ),
)


@contextmanager
def storage_errors(place: str) -> Iterator[None]:
    """Raise what is raised within as what went wrong with the notebook at a place.

    Raises
    ------
    Storage, Busy
    """
    try:
        yield
    except exc.TimeoutError:
        raise Busy("Too many others are at the notebook.") from None
    except (exc.DBAPIError, sqlite3.Error) as error:
        raise _failure(str(getattr(error, "orig", error)).casefold(), place) from error
    except OSError as error:
        raise Storage(
            f"The notebook {place} cannot be written: {error.strerror}. Name a place that can be, in "
            "DOUGH_NOTEBOOK."
        ) from error


def _failure(said: str, place: str) -> Storage | Busy:
    if any(word in said for word in ("locked", "deadlock", "serialize")):
        return Busy("Somebody else is writing in the notebook.")
    for words, sentence in _SAID:
        if any(word in said for word in words):
            return Storage(sentence.format(place=place))
    return Storage(
        f"The database of the notebook {place} does not answer as it should; see the server's log."
    )
