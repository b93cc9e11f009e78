"""Gives each request an id, counts it and writes one line about it: no body, no query, no key."""

import json
import logging
import sys
import time
import traceback
import uuid
from typing import TextIO

from starlette.types import ASGIApp, Message, Receive, Scope, Send

from api.http.guards.guard import Guard
from api.http.guards.metrics import Metrics

LOGGER = logging.getLogger("api")


class RequestLog(Guard):
    """Names every request, counts it, and says how it ended, as one line of JSON."""

    def __init__(self, app: ASGIApp, *, metrics: Metrics) -> None:
        super().__init__(app)
        self.metrics = metrics

    async def serve(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Serve one request."""
        request_id = str(uuid.uuid4())
        scope.setdefault("state", {})["request_id"] = request_id
        status, method = 0, scope["method"] if scope["method"] in METHODS else "other"
        started = time.perf_counter()
        self.metrics.in_flight.inc()

        async def named(message: Message) -> None:
            nonlocal status
            if message["type"] == "http.response.start":
                status = message["status"]
                message["headers"] = [*message["headers"], (b"x-request-id", request_id.encode())]
            await send(message)

        try:
            await self.app(scope, receive, named)
        finally:
            seconds, route = time.perf_counter() - started, getattr(scope.get("route"), "path", None)
            self.metrics.in_flight.dec()
            self.metrics.ended(route or "none", method, status, seconds)
            told = {"method": method, "route": route, "status": status, "ms": round(seconds * 1000, 2)}
            write(logging.INFO, "request", request_id, **told)


METHODS = frozenset({"GET", "HEAD", "POST", "PUT", "DELETE", "OPTIONS", "PATCH", "TRACE", "CONNECT"})


def write(level: int, event: str, request_id: str, **facts: object) -> None:
    """Write one line of JSON."""
    if LOGGER.isEnabledFor(level):
        LOGGER.log(level, json.dumps({"event": event, "request_id": request_id, **facts}))


def write_fault(exception: BaseException, request_id: str) -> None:
    """Write where an exception came from; its message may hold what the caller sent and is left out."""
    frames = traceback.extract_tb(exception.__traceback__)
    places = [f"{frame.filename}:{frame.lineno} {frame.name}" for frame in frames]
    write(logging.ERROR, "fault", request_id, kind=type(exception).__name__, at=places)


def log_to(stream: TextIO | None = None) -> None:
    """Send the log to a stream, standard error by default."""
    handler = logging.StreamHandler(sys.stderr if stream is None else stream)
    handler.setFormatter(_Line())
    LOGGER.handlers[:] = [handler]
    LOGGER.setLevel(logging.INFO)
    LOGGER.propagate = False


class _Line(logging.Formatter):
    """The record's own JSON with time and level before it."""

    def format(self, record: logging.LogRecord) -> str:
        head = {
            "time": time.strftime("%Y-%m-%dT%H:%M:%SZ", time.gmtime(record.created)),
            "level": record.levelname,
        }
        return json.dumps({**head, **json.loads(record.getMessage())})
