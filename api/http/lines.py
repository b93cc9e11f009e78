"""Newline-delimited JSON over HTTP: lines in, lines out, both at the same time."""

import asyncio
from collections.abc import AsyncGenerator, Callable
from contextlib import aclosing, suppress

from starlette.requests import ClientDisconnect
from starlette.responses import Response
from starlette.types import Receive, Scope, Send

from api.http.spool import Spool

NDJSON = "application/x-ndjson"
MOST_BYTES = 64 * 1024
Lines = AsyncGenerator[list[bytes | None], None]
_MOST_AT_ONCE = 16


async def cut_lines(spool: Spool, most_bytes: int = MOST_BYTES) -> Lines:
    """Yield the lines that have come, a few at a time; None for one that is too long, blank ones left out."""
    ready: list[bytes | None] = []
    held, too_long = b"", False
    async for data in spool:
        *whole, rest = data.split(b"\n")
        for part in whole:
            line, held = held + part, b""
            if too_long or len(line) > most_bytes:
                ready.append(None)
            elif line.strip():
                ready.append(line)
            too_long = False
            if len(ready) == _MOST_AT_ONCE:
                yield ready
                ready = []
        held += rest
        if len(held) > most_bytes:
            held, too_long = b"", True
        if ready and spool.idle:
            yield ready
            ready = []
    if too_long or held.strip():
        ready.append(None if too_long else held)
    if ready:
        yield ready


class Exchange(Response):
    """Answers lines while they still come; when the caller leaves, the work stops.

    Parameters
    ----------
    answer : callable
        Takes the lines and yields pieces of the body.
    """

    def __init__(self, answer: Callable[[Lines], AsyncGenerator[bytes, None]]) -> None:
        super().__init__(media_type=NDJSON)
        del self.headers["content-length"]
        self._answer = answer

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Serve one request.

        Raises
        ------
        ClientDisconnect
            The caller left before the last line.
        """
        spool = Spool()
        await send({"type": "http.response.start", "status": self.status_code, "headers": self.raw_headers})
        writing = asyncio.ensure_future(self._write(spool, send))
        reading = asyncio.ensure_future(_read(spool, receive))
        try:
            await asyncio.wait((writing, reading), return_when=asyncio.FIRST_COMPLETED)
            if not writing.done():
                raise ClientDisconnect
            writing.result()
        finally:
            for task in (writing, reading):
                task.cancel()
                with suppress(asyncio.CancelledError):
                    await task
            spool.close()

    async def _write(self, spool: Spool, send: Send) -> None:
        async with aclosing(self._answer(cut_lines(spool))) as pieces:
            async for piece in pieces:
                await send({"type": "http.response.body", "body": piece, "more_body": True})
        await send({"type": "http.response.body", "body": b"", "more_body": False})


async def _read(spool: Spool, receive: Receive) -> None:
    """Take in what the caller sends until it leaves."""
    while (message := await receive())["type"] == "http.request":
        await spool.put(message.get("body", b""))
        if not message.get("more_body", False):
            spool.end()
