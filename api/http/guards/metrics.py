"""Counts what the server does, all its processes together, in the text format of Prometheus."""

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from tempfile import TemporaryDirectory

from prometheus_client import (
    CONTENT_TYPE_LATEST,
    CollectorRegistry,
    Counter,
    Gauge,
    Histogram,
    generate_latest,
)
from prometheus_client.multiprocess import MultiProcessCollector

try:
    import resource
except ImportError:
    resource = None  # type: ignore[assignment]

MEDIA_TYPE = CONTENT_TYPE_LATEST
SECONDS = (0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1.0, 2.5, 10.0)
_FOLDER = "PROMETHEUS_MULTIPROC_DIR"
_KIB = 1024


@contextmanager
def counted_together(workers: int) -> Iterator[None]:
    """Let the processes of a server that are started meanwhile count together."""
    if workers < 2:
        yield
        return
    with TemporaryDirectory(prefix="dough-counts-") as folder:
        os.environ[_FOLDER] = folder
        try:
            yield
        finally:
            del os.environ[_FOLDER]


class Metrics:
    """Requests by route, method and status, their seconds, recipes of sweeps, and what the processes use.

    Parameters
    ----------
    version, rules_version : str

    Examples
    --------
    >>> metrics = Metrics("1.0", "2026")
    >>> metrics.ended("/health", "GET", 200, 0.002)
    >>> next(line for line in metrics.told().splitlines() if line.startswith("dough_requests_total"))
    'dough_requests_total{method="GET",route="/health",status="200"} 1.0'
    """

    def __init__(self, version: str, rules_version: str) -> None:
        self._own = own = CollectorRegistry()
        about = Gauge(
            "dough_info",
            "Versions of the server and of its rules.",
            ("version", "rules_version"),
            registry=own,
            multiprocess_mode="livemax",
        )
        about.labels(version, rules_version).set(1)
        self._requests = Counter(
            "dough_requests",
            "Requests that ended, by route and status.",
            ("route", "method", "status"),
            registry=own,
        )
        self._seconds = Histogram(
            "dough_request_seconds",
            "Seconds from request to end of answer.",
            ("route",),
            buckets=SECONDS,
            registry=own,
        )
        self.recipes = Counter(
            "dough_sweep_recipes", "Recipes of sweeps, by outcome.", ("outcome",), registry=own
        )
        for outcome in ("answered", "refused"):
            self.recipes.labels(outcome)
        self.in_flight = Gauge(
            "dough_requests_in_flight",
            "Requests that are worked on or wait.",
            registry=own,
            multiprocess_mode="livesum",
        )
        self._cpu = Gauge(
            "process_cpu_seconds_total",
            "Processor seconds of the server's processes.",
            registry=own,
            multiprocess_mode="livesum",
        )
        self._memory = Gauge(
            "process_max_resident_memory_bytes",
            "Most memory one of the server's processes ever held.",
            registry=own,
            multiprocess_mode="livemax",
        )

    def ended(self, route: str, method: str, status: int, seconds: float) -> None:
        """Count a request that ended."""
        self._requests.labels(route, method, str(status)).inc()
        self._seconds.labels(route).observe(seconds)
        if resource is not None:
            usage = resource.getrusage(resource.RUSAGE_SELF)
            self._cpu.set(usage.ru_utime + usage.ru_stime)
            self._memory.set(usage.ru_maxrss * (1 if sys.platform == "darwin" else _KIB))

    def told(self) -> str:
        """Return every figure as text, of all processes where they count together."""
        if _FOLDER not in os.environ:
            return generate_latest(self._own).decode()
        together = CollectorRegistry()
        MultiProcessCollector(together)  # type: ignore[no-untyped-call]
        return generate_latest(together).decode()
