"""What a request says of earlier ones: what it has seen of a thing, or that it is sent again."""

import hashlib
from dataclasses import dataclass

from api.http.answering import strong_tag
from api.notebook.errors import IfMatchNeeded, Stale


@dataclass(frozen=True, slots=True)
class Precondition:
    """What a request says of the state it knows: If-Match, and whether it only makes what is new."""

    if_match: str | None = None
    only_new: bool = False

    @classmethod
    def of(cls, if_match: str | None, if_none_match: str | None) -> "Precondition":
        """Return the precondition that two headers of a request make.

        Raises
        ------
        Stale
            ``If-None-Match`` is something else than ``*``.
        """
        if if_none_match is not None and if_none_match.strip() != "*":
            raise Stale("To make only what is new, send If-None-Match: *.")
        return cls(if_match, if_none_match is not None)

    def hold(self, current: str | bytes | None) -> None:
        """Refuse a change that rests on another state than the current one.

        Parameters
        ----------
        current : str or bytes, optional
            The body there is now, None where there is none.

        Raises
        ------
        Stale, IfMatchNeeded

        Examples
        --------
        >>> Precondition(only_new=True).hold(None)
        >>> Precondition().hold("{}")
        Traceback (most recent call last):
            ...
        api.notebook.errors.IfMatchNeeded: It exists already, so its ETag is needed in If-Match.
        """
        if current is None:
            if self.if_match is not None:
                raise Stale("It does not exist, or no longer.")
            return
        if self.only_new:
            raise Stale("It exists already.")
        if self.if_match is None:
            raise IfMatchNeeded("It exists already, so its ETag is needed in If-Match.")
        if self.if_match.strip() == "*":
            return
        body = current.encode() if isinstance(current, str) else current
        if strong_tag(body) not in (tag.strip() for tag in self.if_match.split(",")):
            raise Stale("Somebody has changed it since it was read.")


@dataclass(frozen=True, slots=True)
class Repeatable:
    """The name a writer gave a request, and what it asked, so that asking twice does it once."""

    key: str
    body: bytes
    now: int

    @property
    def digest(self) -> str:
        """What tells one request from another."""
        return hashlib.sha256(self.body).hexdigest()
