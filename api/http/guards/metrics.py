"""Counts what the server does, and tells it in the text format of Prometheus."""

import resource
import sys
import time
from bisect import bisect_left
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator

from starlette.types import ASGIApp, Message, Receive, Scope, Send

from api.http.guards.log import METHODS

MEDIA_TYPE = "text/plain; version=0.0.4; charset=utf-8"
SECONDS = (0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1.0, 2.5, 10.0)
_KIB = 1024


class Metrics:
    """Counts of one server process: requests by route, method and status, their seconds, recipes of sweeps.

    Parameters
    ----------
    version, rules_version : str
    """

    def __init__(self, version: str, rules_version: str) -> None:
        self._about = {"version": version, "rules_version": rules_version}
        self._requests: Counter[tuple[str, str, int]] = Counter()
        self._within: dict[str, list[int]] = defaultdict(lambda: [0] * (len(SECONDS) + 1))
        self._seconds: defaultdict[str, float] = defaultdict(float)
        self.recipes: Counter[str] = Counter()
        self.in_flight = 0

    def ended(self, route: str, method: str, status: int, seconds: float) -> None:
        """Count a request that ended."""
        self._requests[route, method, status] += 1
        self._within[route][bisect_left(SECONDS, seconds)] += 1
        self._seconds[route] += seconds

    def told(self) -> str:
        """Return every figure as text.

        Examples
        --------
        >>> metrics = Metrics("1.0", "2026")
        >>> metrics.ended("/health", "GET", 200, 0.002)
        >>> next(line for line in metrics.told().splitlines() if line.startswith("dough_requests"))
        'dough_requests_total{route="/health",method="GET",status="200"} 1'
        """
        return "\n".join([*self._lines(), ""])

    def _lines(self) -> Iterator[str]:
        yield from _family("dough_info", "gauge", "Versions of the server and of its rules.")
        yield _sample("dough_info", self._about, 1)
        yield from _family("dough_requests_total", "counter", "Requests that ended, by route and status.")
        for (route, method, status), count in sorted(self._requests.items()):
            labels = {"route": route, "method": method, "status": str(status)}
            yield _sample("dough_requests_total", labels, count)
        yield from _family("dough_request_seconds", "histogram", "Seconds from request to end of answer.")
        for route, counts in sorted(self._within.items()):
            total = 0
            for border, count in zip((*map(str, SECONDS), "+Inf"), counts, strict=True):
                total += count
                yield _sample("dough_request_seconds_bucket", {"route": route, "le": border}, total)
            yield _sample("dough_request_seconds_sum", {"route": route}, self._seconds[route])
            yield _sample("dough_request_seconds_count", {"route": route}, total)
        yield from _family("dough_sweep_recipes_total", "counter", "Recipes of sweeps, by outcome.")
        for outcome in ("answered", "refused"):
            yield _sample("dough_sweep_recipes_total", {"outcome": outcome}, self.recipes[outcome])
        yield from _family("dough_requests_in_flight", "gauge", "Requests that are worked on or wait.")
        yield _sample("dough_requests_in_flight", {}, self.in_flight)
        usage = resource.getrusage(resource.RUSAGE_SELF)
        yield from _family("process_cpu_seconds_total", "counter", "Processor seconds of this process.")
        yield _sample("process_cpu_seconds_total", {}, usage.ru_utime + usage.ru_stime)
        yield from _family(
            "process_max_resident_memory_bytes", "gauge", "Most memory this process ever held."
        )
        most = usage.ru_maxrss if sys.platform == "darwin" else usage.ru_maxrss * _KIB
        yield _sample("process_max_resident_memory_bytes", {}, most)


def _family(name: str, kind: str, about: str) -> Iterable[str]:
    return (f"# HELP {name} {about}", f"# TYPE {name} {kind}")


def _sample(name: str, labels: dict[str, str], value: float) -> str:
    inside = ",".join(f'{label}="{text}"' for label, text in labels.items())
    return f"{name}{{{inside}}} {value:.17g}" if inside else f"{name} {value:.17g}"


class Measured:
    """Counts every request."""

    def __init__(self, app: ASGIApp, *, metrics: Metrics) -> None:
        self.app = app
        self.metrics = metrics

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Serve one request."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        status = 0

        async def watched(message: Message) -> None:
            nonlocal status
            if message["type"] == "http.response.start":
                status = message["status"]
            await send(message)

        started = time.perf_counter()
        self.metrics.in_flight += 1
        try:
            await self.app(scope, receive, watched)
        finally:
            self.metrics.in_flight -= 1
            route = getattr(scope.get("route"), "path", "none")
            method = scope["method"] if scope["method"] in METHODS else "other"
            self.metrics.ended(route, method, status, time.perf_counter() - started)
