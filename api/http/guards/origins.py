"""Refuses what a page of another site sends through a visitor's browser."""

from collections.abc import Sequence

from starlette.datastructures import Headers
from starlette.types import ASGIApp, Receive, Scope, Send

from api.http.errors import ForeignOrigin
from api.http.guards.guard import Guard

_SAFE = frozenset({"GET", "HEAD", "OPTIONS"})


class Origins(Guard):
    """Lets a browser send only from the server's own pages and from the origins set."""

    def __init__(self, app: ASGIApp, *, origins: Sequence[str]) -> None:
        super().__init__(app)
        self.origins = frozenset(origin.lower() for origin in origins)

    async def serve(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Serve one request."""
        if scope["method"] not in _SAFE and not self._ours(Headers(scope=scope)):
            raise ForeignOrigin("The header Origin names another site.")
        await self.app(scope, receive, send)

    def _ours(self, headers: Headers) -> bool:
        origin = headers.get("origin")
        if origin is None:
            return headers.get("sec-fetch-site") != "cross-site"
        origin = origin.lower()
        return origin in self.origins or origin.partition("://")[2] == headers.get("host", "").lower() != ""
