"""Bounds how many requests of one caller are under way, so that none crowds others out."""

from collections import Counter

from starlette.types import ASGIApp, Receive, Scope, Send

from api.http.errors import TooMany

UNBOUNDED = ("/health", "/ready")


class PerCaller:
    """Turns away what one caller has too much of.

    Callers are told apart by their address, until somebody has looked at their key (``Counted.as_caller``): a
    key that was made up stands for nobody.
    """

    def __init__(self, app: ASGIApp, *, at_most: int) -> None:
        self.app = app
        self.at_most = at_most
        self.now: Counter[str] = Counter()

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Serve one request."""
        if scope["type"] != "http" or scope["path"] in UNBOUNDED:
            await self.app(scope, receive, send)
            return
        counted = Counted(self)
        counted.as_caller((scope.get("client") or ("",))[0])
        scope["state"]["counted"] = counted
        try:
            await self.app(scope, receive, send)
        finally:
            counted.leave()


class Counted:
    """One request under way, and the caller it counts for."""

    def __init__(self, guard: PerCaller) -> None:
        self._guard = guard
        self.caller = ""

    def as_caller(self, caller: str) -> None:
        """Count for a caller, and no longer for the one before.

        Raises
        ------
        TooMany
        """
        if caller == self.caller:
            return
        if self._guard.now[caller] >= self._guard.at_most:
            raise TooMany(f"{self._guard.at_most} requests of this caller are under way already.")
        self._guard.now[caller] += 1
        self.leave()
        self.caller = caller

    def leave(self) -> None:
        """Count no more."""
        if self.caller:
            self._guard.now[self.caller] -= 1
            if not self._guard.now[self.caller]:
                del self._guard.now[self.caller]
        self.caller = ""
