"""Decides whether a writer has seen what he is about to change (RFC 9110, 13)."""

from collections.abc import Mapping
from dataclasses import dataclass

from api.http.answering import strong_tag
from api.notebook.errors import IfMatchNeeded, Stale

CHANGING = {"If-Match": "The ETag of what is changed; needed where it exists."}
MAKING = {**CHANGING, "If-None-Match": "* makes only what is new."}


@dataclass(frozen=True, slots=True)
class Precondition:
    """What a request says of the state it knows: If-Match, and whether it only makes what is new."""

    if_match: str | None = None
    only_new: bool = False

    @classmethod
    def of(cls, headers: Mapping[str, str]) -> "Precondition":
        """Return the precondition of a request.

        Raises
        ------
        Stale
            ``If-None-Match`` is something else than ``*``.
        """
        none_match = headers.get("if-none-match")
        if none_match is not None and none_match.strip() != "*":
            raise Stale("To make only what is new, send If-None-Match: *.")
        return cls(headers.get("if-match"), none_match is not None)

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
