"""Bounds how many requests are worked on or wait at one time."""

from starlette.types import ASGIApp, Receive, Scope, Send

from api.http.errors import Busy
from api.http.guards.per_caller import UNBOUNDED


class InFlight:
    """Turns away what is more than the server takes on; whether it works and is ready can always be asked."""

    def __init__(self, app: ASGIApp, *, at_most: int) -> None:
        self.app = app
        self.at_most = at_most
        self.now = 0

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Serve one request."""
        if scope["type"] != "http" or scope["path"] in UNBOUNDED:
            await self.app(scope, receive, send)
            return
        if self.now >= self.at_most:
            raise Busy(f"The server works on {self.at_most} requests already.")
        self.now += 1
        try:
            await self.app(scope, receive, send)
        finally:
            self.now -= 1
