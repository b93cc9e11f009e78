"""Bounds how many requests are under way at one time, in all and of one caller: none crowds others out."""

from collections import Counter

from starlette.types import ASGIApp, Receive, Scope, Send

from api.http.errors import Busy, TooMany
from api.http.guards.guard import Guard

UNBOUNDED = ("/health", "/ready")


class InFlight(Guard):
    """Turns away what is more than the server takes on, in all or of one caller.

    Whether it works and is ready can always be asked. Callers are told apart by their address, until somebody
    has looked at their key (``Counted.as_caller``): a key that was made up stands for nobody.
    """

    def __init__(self, app: ASGIApp, *, at_most: int, per_caller: int) -> None:
        super().__init__(app)
        self.at_most, self.per_caller = at_most, per_caller
        self.now = 0
        self.callers: Counter[str] = Counter()

    async def serve(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Serve one request."""
        if scope["path"] in UNBOUNDED:
            await self.app(scope, receive, send)
            return
        if self.now >= self.at_most:
            raise Busy(f"The server works on {self.at_most} requests already.")
        counted = scope["state"]["counted"] = Counted(self)
        self.now += 1
        try:
            counted.as_caller((scope.get("client") or ("",))[0])
            await self.app(scope, receive, send)
        finally:
            self.now -= 1
            counted.leave()


class Counted:
    """One request under way, and the caller it counts for."""

    def __init__(self, guard: InFlight) -> None:
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
        if self._guard.callers[caller] >= self._guard.per_caller:
            raise TooMany(f"{self._guard.per_caller} requests of this caller are under way already.")
        self._guard.callers[caller] += 1
        self.leave()
        self.caller = caller

    def leave(self) -> None:
        """Count no more."""
        if self.caller:
            self._guard.callers[self.caller] -= 1
            if not self._guard.callers[self.caller]:
                del self._guard.callers[self.caller]
        self.caller = ""
