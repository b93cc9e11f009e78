"""The one place that lets callers move on from a busy server process to an idle one.

The processes of a server share one door, and whoever is awake first takes every connection that stands before
it: of thirty callers who come at once, one process may get twenty-nine, and they stay as long as they keep
their connections. A process with much to do therefore ends one kept connection in a while; its caller opens
another, which the process that is least busy takes.
"""

from starlette.types import ASGIApp, Message, Receive, Scope, Send

MANY = 20
ONE_IN = 128


class Balance:
    """Ends one kept connection in a while as long as many requests are under way."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app
        self._now = self._since = 0

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Serve one request."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return

        async def ending(message: Message) -> None:
            if message["type"] == "http.response.start" and self._now > MANY:
                self._since += 1
                if self._since >= ONE_IN:
                    self._since = 0
                    message = {**message, "headers": [*message["headers"], (b"connection", b"close")]}
            await send(message)

        self._now += 1
        try:
            await self.app(scope, receive, ending)
        finally:
            self._now -= 1
