"""Keeps what a caller sends faster than it is worked on: in a file, not in memory.

Many callers send all before they read anything. Were they made to wait while their answers wait for them,
both sides would wait for ever.
"""

import asyncio
from collections.abc import AsyncIterator
from tempfile import SpooledTemporaryFile

_IN_MEMORY = 1024 * 1024
_READ = 64 * 1024
MOST_WAITING = 1024 * 1024 * 1024


class Spool:
    """Bytes in at one end, out at the other; beyond ``most`` waiting bytes the giver waits."""

    def __init__(self, most: int = MOST_WAITING) -> None:
        self._file = SpooledTemporaryFile(max_size=_IN_MEMORY)  # noqa: SIM115 closed with the spool
        self._most = most
        self._read = self._written = 0
        self._ended = False
        self._changed = asyncio.Event()

    async def put(self, data: bytes) -> None:
        """Take bytes in."""
        while self._written - self._read > self._most:
            await self._change()
        self._file.seek(self._written)
        self._file.write(data)
        self._written += len(data)
        self._changed.set()

    def end(self) -> None:
        """Tell that nothing more comes."""
        self._ended = True
        self._changed.set()

    @property
    def idle(self) -> bool:
        """Whether nothing is waiting just now."""
        return self._read == self._written

    async def __aiter__(self) -> AsyncIterator[bytes]:
        """Yield the bytes in the order they came, until the end."""
        while True:
            if self.idle:
                if self._ended:
                    return
                await self._change()
                continue
            self._file.seek(self._read)
            data = self._file.read(_READ)
            self._read += len(data)
            if self.idle:
                self._file.seek(0)
                self._file.truncate()
                self._read = self._written = 0
            self._changed.set()
            yield data

    async def _change(self) -> None:
        self._changed.clear()
        await self._changed.wait()

    def close(self) -> None:
        """Let go of the file."""
        self._file.close()
