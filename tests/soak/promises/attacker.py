"""One caller that attacks a server, and what it can measure of it."""

import json
import socket
import time
from pathlib import Path
from typing import Any

import httpx

from tests.helpers.server import Served

JSON = {"Content-Type": "application/json"}
LINES = {"Content-Type": "application/x-ndjson"}
MIB = 1024 * 1024
_TICKS = 100


class Attacker:
    """A caller with a key of its own; ``short`` asks for less of everything."""

    def __init__(self, server: Served, key: str, *, short: bool) -> None:
        self.server = server
        self.short = short
        self.key = key
        headers = {"Authorization": f"Bearer {key}"}
        self.client = httpx.Client(base_url=server.url, timeout=300, headers=headers, trust_env=False)

    @property
    def less(self) -> int:
        """By how much less is asked in the short form."""
        return 100 if self.short else 1

    def answered(self, method: str, path: str, content: bytes = b"", **headers: str) -> httpx.Response:
        """Return an answer; a fault of the server is an error."""
        told = self.client.request(method, path, content=content, headers={**JSON, **headers})
        if told.status_code in (500, 502, 504) or (
            told.status_code == 503 and "Retry-After" not in told.headers
        ):
            raise AssertionError(f"{method} {path} answered {told.status_code}: {told.text[:300]}")
        return told

    def post(self, path: str, content: bytes, **headers: str) -> float:
        """Return how long one call took [s]."""
        began = time.monotonic()
        self.answered("POST", path, content, **headers)
        return time.monotonic() - began

    def computing(self, path: str, body: Any, allowed: tuple[int, ...] = (200,)) -> float:
        """Return how long a server computes over one call [s], whatever else the machine does."""
        before = self._computed()
        told = self.answered("POST", path, json.dumps(body).encode())
        if told.status_code not in allowed:
            raise AssertionError(f"{path} answered {told.status_code}: {told.text[:500]}")
        return self._computed() - before

    def _computed(self) -> float:
        """Return the seconds of computing of the server's process so far."""
        fields = Path(f"/proc/{self.server.pid}/stat").read_text(encoding="ascii").rpartition(")")[2].split()
        return (int(fields[11]) + int(fields[12])) / _TICKS

    def opened(self, sent: bytes) -> socket.socket:
        """Return a connection on which something was sent."""
        connection = socket.create_connection(("127.0.0.1", self.server.port), timeout=60)
        connection.sendall(sent)
        return connection
