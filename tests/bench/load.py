"""Loads a server of its own: so many callers, each asking again as soon as it is answered."""

import asyncio
import json
import statistics
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import httpx

from api.app import create_app
from tests.helpers.server import Served
from tests.soak.__main__ import resident

_HEAD = "POST {path} HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Type: application/json\r\nContent-Length: {length}\r\n\r\n"


@dataclass(frozen=True)
class Load:
    """What a load came to [calls per second, ms]."""

    per_second: float
    median_ms: float
    p99_ms: float
    errors: int


@contextmanager
def server(workers: int) -> Iterator[tuple[int, int]]:
    """Yield port and process of a server with so many workers."""
    command = ("-m", "advisor", "serve", "--port", "{port}", "--workers", str(workers))
    with tempfile.TemporaryDirectory() as folder, Served(Path(folder) / "bench.sqlite3", command) as started:
        time.sleep(2.0)
        yield started.port, started.pid


@contextmanager
def asked_in_process(path: str, body: dict[str, Any]) -> Iterator[Callable[[], None]]:
    """Yield a call of the application without a server: its own part of an answer, no network's."""
    app, sent, loop = create_app(), json.dumps(body).encode(), asyncio.new_event_loop()
    headers = [(b"host", b"127.0.0.1"), (b"content-type", b"application/json")]
    headers.append((b"content-length", str(len(sent)).encode()))
    scope = {
        "type": "http",
        "asgi": {"version": "3.0"},
        "http_version": "1.1",
        "method": "POST",
        "scheme": "http",
        "path": path,
        "raw_path": path.encode(),
        "query_string": b"",
        "root_path": "",
        "headers": headers,
        "client": ("127.0.0.1", 1),
        "server": ("127.0.0.1", 80),
        "state": {},
    }
    statuses = []

    async def receive() -> dict[str, Any]:
        return {"type": "http.request", "body": sent, "more_body": False}

    async def send(message: dict[str, Any]) -> None:
        statuses.append(message.get("status", 200))

    def call() -> None:
        loop.run_until_complete(app(dict(scope), receive, send))
        if {*statuses} != {200}:
            raise SystemExit(f"{path} answered {statuses}")

    life = app.router.lifespan_context(app)
    loop.run_until_complete(life.__aenter__())
    try:
        call()
        yield call
    finally:
        loop.run_until_complete(life.__aexit__(None, None, None))
        loop.close()


def loaded(port: int, body: dict[str, Any], callers: int, seconds: float) -> Load:
    """Ask corrections for some seconds."""
    return asyncio.run(_loaded(port, json.dumps(body).encode(), callers, seconds))


async def _loaded(port: int, body: bytes, callers: int, seconds: float) -> Load:
    request = _HEAD.format(path="/v1/corrections", length=len(body)).encode() + body
    end = time.perf_counter() + seconds
    answers = await asyncio.gather(*(_caller(port, request, end) for _ in range(callers)))
    took = sorted(ms for times, _ in answers for ms in times)
    errors = sum(failed for _, failed in answers)
    return Load(len(took) / seconds, statistics.median(took), took[int(0.99 * len(took))], errors)


async def _caller(port: int, request: bytes, end: float) -> tuple[list[float], int]:
    took, failed = [], 0
    reader, writer = await asyncio.open_connection("127.0.0.1", port)
    while time.perf_counter() < end:
        start = time.perf_counter()
        writer.write(request)
        head = (await reader.readuntil(b"\r\n\r\n")).lower()
        length = int(head.partition(b"content-length: ")[2].partition(b"\r\n")[0])
        await reader.readexactly(length)
        took.append(1e3 * (time.perf_counter() - start))
        failed += b" 200 " not in head[:20]
        if b"connection: close" in head:
            writer.close()
            reader, writer = await asyncio.open_connection("127.0.0.1", port)
    writer.close()
    return took, failed


def streamed(port: int, process: int, bodies: list[bytes], lines: int) -> tuple[float, int, int]:
    """Send lines of a sweep; return lines per second and the server's memory at a fifth and at the end [kB]."""

    def sent() -> Iterator[bytes]:
        for number in range(lines):
            yield bodies[number % len(bodies)]

    told, early, start = 0, 0, time.perf_counter()
    headers = {"Content-Type": "application/x-ndjson"}
    address = f"http://127.0.0.1:{port}/v1/sweeps"
    with httpx.stream(
        "POST", address, content=sent(), headers=headers, timeout=httpx.Timeout(None)
    ) as answer:
        for _ in answer.iter_lines():
            told += 1
            if told == lines // 5:
                early = resident(process)
    if told != lines:
        raise SystemExit(f"{lines - told} lines are missing")
    return lines / (time.perf_counter() - start), early, resident(process)
