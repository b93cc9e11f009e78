"""Folds the write-ahead file into the notebook's file, soon after the last write."""

import threading
import time
from collections.abc import Callable

QUIET_SECONDS = 0.5
AGAIN_SECONDS = 0.25


class Folding:
    """Calls ``fold`` once nobody has written for half a second, and again until it says that it is done."""

    def __init__(self, fold: Callable[[], bool]) -> None:
        self._fold = fold
        self._lock = threading.Lock()
        self._due = 0.0
        self._timer: threading.Timer | None = None

    def written(self) -> None:
        """Note that something was written."""
        with self._lock:
            self._due = time.monotonic() + QUIET_SECONDS
            if self._timer is None:
                self._wait(QUIET_SECONDS)

    def close(self) -> None:
        """Wait no longer, and fold what there is."""
        with self._lock:
            waiting, self._timer = self._timer, None
        if waiting is not None:
            waiting.cancel()
            self._fold()

    def _wait(self, seconds: float) -> None:
        self._timer = threading.Timer(seconds, self._look)
        self._timer.daemon = True
        self._timer.start()

    def _look(self) -> None:
        done = time.monotonic() >= self._due and self._fold()
        with self._lock:
            if self._timer is None:
                return
            left = self._due - time.monotonic()
            if done and left <= 0:
                self._timer = None
            else:
                self._wait(max(left, AGAIN_SECONDS))
