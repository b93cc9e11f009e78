"""Reads the header Accept (RFC 9110, 12.5.1)."""

from collections.abc import Sequence
from functools import lru_cache

from starlette.requests import Request

from api.http.errors import NotAcceptable

JSON = "application/json"
CSV = "text/csv"
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
