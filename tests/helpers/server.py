"""A server of a test's own: waited for as long as a busy machine needs, and ended whatever happens."""

import ctypes
import os
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Sequence
from http.client import HTTPConnection, HTTPException
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
PATIENCE = 180.0
_PARENT_DEATH = 1
_LIBC = ctypes.CDLL(None) if sys.platform == "linux" else None


def free_port() -> int:
    """Return a port nobody listens on."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def ends_with_us(by: int = signal.SIGTERM) -> Callable[[], None] | None:
    """Return what lets a process that starts be ended by a signal when the one that started it dies."""
    return None if _LIBC is None else lambda: _LIBC.prctl(_PARENT_DEATH, by)


class Served:
    """A server on a free port of this machine; it can be stopped and started again at the same address.

    Parameters
    ----------
    notebook : Path
    command : sequence of str, optional
        What serves; ``{port}`` stands for the port.
    place : Path
        The folder it runs in.
    environment : str
        What it finds in its environment besides.
    """

    def __init__(
        self,
        notebook: Path,
        command: Sequence[str] = ("-m", "advisor", "serve", "--port", "{port}"),
        place: Path = ROOT,
        **environment: str,
    ) -> None:
        self.port = free_port()
        self.url = f"http://127.0.0.1:{self.port}/"
        self._command = [sys.executable, *(word.format(port=self.port) for word in command)]
        self._place = place
        self._environment = {"DOUGH_NOTEBOOK": str(notebook), "PYTHONPATH": str(ROOT), **environment}
        self._process: subprocess.Popen[bytes] | None = None
        self._log = notebook.parent / f"server-{self.port}.log"

    def __enter__(self) -> "Served":
        self.start()
        return self

    def __exit__(self, *_: object) -> None:
        self.stop()

    def asked(self) -> int:
        """Return how many requests its log tells of."""
        return self._log.read_text(encoding="utf-8").count('"event": "request"')

    def start(self) -> None:
        """Start it and wait until it answers; what it said is in the error where it does not."""
        with self._log.open("ab") as log:
            self._process = subprocess.Popen(
                self._command,
                cwd=self._place,
                env={**os.environ, **self._environment},
                stdout=log,
                stderr=subprocess.STDOUT,
                preexec_fn=ends_with_us(),
            )
        patient_until = time.monotonic() + PATIENCE
        while not self._answers():
            ended = self._process.poll()
            if ended is not None or time.monotonic() > patient_until:
                self.stop()
                how = "gave no answer" if ended is None else f"ended with {ended}"
                raise RuntimeError(f"The server {how}. It said:\n{self.said()}")
            time.sleep(0.05)

    def stop(self, by: int = signal.SIGTERM) -> None:
        """End it, by force where it does not end by itself."""
        if self._process is None:
            return
        try:
            self._process.send_signal(by)
            self._process.wait(PATIENCE)
        finally:
            self._process.kill()
            self._process.wait()
            self._process = None

    @property
    def pid(self) -> int:
        """The number of the process."""
        assert self._process is not None
        return self._process.pid

    def said(self) -> str:
        """Return all it has written so far."""
        return self._log.read_text(encoding="utf-8", errors="replace")

    def _answers(self) -> bool:
        asking = HTTPConnection("127.0.0.1", self.port, timeout=5)
        try:
            asking.request("GET", "/health")
            return asking.getresponse().status == 200
        except (OSError, HTTPException):
            return False
        finally:
            asking.close()
