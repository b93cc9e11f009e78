"""How long a connection is waited for, and how many there may be: uvicorn's protocol, less patient."""

import asyncio
import logging
from typing import Any

from uvicorn.protocols.http.httptools_impl import HttpToolsProtocol

from api.http.guards.log import write

HEADER_SECONDS = 5.0
SILENT_SECONDS = 10.0
SLOWEST_BYTES_PER_SECOND = 16 * 1024
SPARE_DESCRIPTORS = 96
MOST_CONNECTIONS = 4096


def most_connections() -> int:
    """Return how many connections one process holds: fewer than the files it may open, with some to spare."""
    try:
        import resource
    except ImportError:
        return MOST_CONNECTIONS // 8
    files = resource.getrlimit(resource.RLIMIT_NOFILE)[0]
    return max(8, min(MOST_CONNECTIONS, files - SPARE_DESCRIPTORS))


class PatientProtocol(HttpToolsProtocol):
    """Closes connections whose headers, or whose body, do not come; and makes room for new ones.

    Headers are whole 5 s after the connection or their first byte. No body is silent for more than 10 s
    while it is waited for, and one whose length is told comes with 16 KiB/s at least, after the first 10 s.
    """

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        self._most = most_connections()
        self._heard = self.loop.time()
        self._ends: float | None = None
        self._whole_by = float("inf")
        self._waits_for_headers = True
        self._timer: asyncio.TimerHandle | None = None

    @property
    def idle_since(self) -> float | None:
        """When this connection was last heard of, if no request of it is worked on."""
        at_work = self.cycle is not None and not self.cycle.response_complete
        return None if at_work else self._heard

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """Take a connection, in place of the one that has been idle longest where there are too many."""
        if len(self.connections) >= self._most:
            idle = [
                (one.idle_since, one)
                for one in self.connections
                if isinstance(one, PatientProtocol) and one.idle_since is not None
            ]
            longest = min(idle, key=lambda pair: pair[0], default=(0.0, None))[1]
            if longest is None:
                transport.abort()
            else:
                longest.give_up("too many connections")
        super().connection_made(transport)
        self._wait(HEADER_SECONDS)

    def connection_lost(self, exc: Exception | None) -> None:
        """Let go of a connection."""
        self._stop_waiting()
        super().connection_lost(exc)

    def on_message_begin(self) -> None:
        """Wait for the headers of a request."""
        super().on_message_begin()
        self._waits_for_headers = True
        self._wait(HEADER_SECONDS)

    def on_headers_complete(self) -> None:
        """Wait for the body of a request."""
        super().on_headers_complete()
        self._waits_for_headers = False
        length = dict(self.headers).get(b"content-length", b"")
        slowest = int(length[:15]) / SLOWEST_BYTES_PER_SECOND if length.isdigit() else float("inf")
        self._whole_by = self.loop.time() + SILENT_SECONDS + slowest
        self._wait(SILENT_SECONDS)

    def on_body(self, body: bytes) -> None:
        """Take a part of a body."""
        super().on_body(body)
        self._heard = self.loop.time()

    def on_message_complete(self) -> None:
        """Wait no more: the request is whole."""
        super().on_message_complete()
        self._stop_waiting()

    def give_up(self, why: str) -> None:
        """Close the connection at once."""
        self._stop_waiting()
        write(
            logging.WARNING, "connection closed", "", cause=why, caller=self.client[0] if self.client else ""
        )
        self.transport.abort()

    def _wait(self, seconds: float) -> None:
        self._stop_waiting()
        self._heard = self.loop.time()
        self._timer = self.loop.call_later(seconds, self._look)

    def _stop_waiting(self) -> None:
        if self._timer is not None:
            self._timer.cancel()
            self._timer = None

    def _look(self) -> None:
        """Close the connection if nothing came; a pause the server asked for is no silence."""
        now = self.loop.time()
        if self._waits_for_headers:
            self.give_up("the headers did not come")
            return
        if self.flow.read_paused:
            self._whole_by += now - self._heard
            self._heard = now
        rest = min(self._heard + SILENT_SECONDS, self._whole_by) - now
        if rest > 0:
            self._timer = self.loop.call_later(rest, self._look)
        else:
            self.give_up("the body did not come")
