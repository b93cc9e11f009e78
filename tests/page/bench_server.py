"""Starts a server of its own for the tests of the page, with a notebook of its own."""

import os
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from pathlib import Path

_ROOT = Path(__file__).resolve().parents[2]
_PATIENCE_S = 30.0


class BenchServer:
    """A server on a free port of this machine; it can be stopped and started again at the same address."""

    def __init__(self, notebook: Path) -> None:
        self._notebook = notebook
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self._port = free.getsockname()[1]
        self._process: subprocess.Popen[bytes] | None = None

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self._port}/"

    def start(self) -> None:
        self._process = subprocess.Popen(
            [sys.executable, "-m", "advisor", "serve", "--port", str(self._port)],
            cwd=_ROOT,
            env={**os.environ, "DOUGH_NOTEBOOK": str(self._notebook)},
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        patient_until = time.monotonic() + _PATIENCE_S
        while not self._answers():
            if self._process.poll() is not None or time.monotonic() > patient_until:
                raise RuntimeError("the server did not start; try: make serve")
            time.sleep(0.05)

    def stop(self) -> None:
        if self._process is not None:
            self._process.terminate()
            self._process.wait()
            self._process = None

    def _answers(self) -> bool:
        try:
            with urllib.request.urlopen(f"{self.url}health", timeout=1) as answer:  # noqa: S310
                return bool(answer.status == 200)
        except (urllib.error.URLError, ConnectionError, TimeoutError):
            return False
