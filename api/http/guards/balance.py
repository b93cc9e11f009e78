"""Lets callers move on from a busy server process to an idle one.

The processes of a server share one door, and whoever is awake first takes every connection that stands before
it: of thirty callers who come at once, one process may get twenty-nine, and they stay as long as they keep
their connections. A process that gets more than a few at once therefore ends every second new connection with
its first answer; the caller opens another, which the process that is least busy takes.
"""

from collections import OrderedDict
from collections.abc import Iterable

from starlette.types import ASGIApp, Message, Receive, Scope, Send

from api.http.guards.guard import Guard

FEW = 2
REMEMBERED = 4096


class Balance(Guard):
    """Ends every second new connection with its first answer while more than a few requests are under way."""

    def __init__(self, app: ASGIApp) -> None:
        super().__init__(app)
        self._now = 0
        self._known: OrderedDict[tuple[str | int, ...], None] = OrderedDict()
        self._even = False

    async def serve(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Serve one request."""
        new = self._is_new(scope.get("client"))

        async def ending(message: Message) -> None:
            if new and message["type"] == "http.response.start" and self._now > FEW:
                self._even = not self._even
                if self._even:
                    message = {**message, "headers": [*message["headers"], (b"connection", b"close")]}
            await send(message)

        self._now += 1
        try:
            await self.app(scope, receive, ending)
        finally:
            self._now -= 1

    def _is_new(self, caller: Iterable[str | int] | None) -> bool:
        """Tell whether a connection brings its first request, as far as is remembered."""
        if caller is None:
            return False
        address = tuple(caller)
        new = address not in self._known
        self._known[address] = None
        self._known.move_to_end(address)
        if len(self._known) > REMEMBERED:
            self._known.popitem(last=False)
        return new
