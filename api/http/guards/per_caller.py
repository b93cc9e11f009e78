"""Bounds how many requests of one caller are under way, so that none crowds others out."""

from collections import Counter
from hashlib import blake2b

from starlette.datastructures import Headers
from starlette.types import ASGIApp, Receive, Scope, Send

from api.http.errors import TooMany


class PerCaller:
    """Turns away what one caller has too much of; callers are told apart by key, without one by address."""

    def __init__(self, app: ASGIApp, *, at_most: int) -> None:
        self.app = app
        self.at_most = at_most
        self._now: Counter[bytes] = Counter()

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Serve one request."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        caller = _caller(scope)
        if self._now[caller] >= self.at_most:
            raise TooMany(f"{self.at_most} requests of this caller are under way already.")
        self._now[caller] += 1
        try:
            await self.app(scope, receive, send)
        finally:
            self._now[caller] -= 1
            if not self._now[caller]:
                del self._now[caller]


def _caller(scope: Scope) -> bytes:
    """Return what a caller is told apart by; of a key only a digest is kept, while requests are under way."""
    key = Headers(scope=scope).get("authorization") or (scope.get("client") or ("",))[0]
    return blake2b(key.encode(), digest_size=16).digest()
