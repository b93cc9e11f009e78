"""Load a server of its own on loopback for a bounded time, then say whether it failed or grew.

Usage: python -m tests.soak [SECONDS], ten minutes unless told.
"""

import itertools
import json
import os
import socket
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import httpx

from tests.answers.__main__ import SAMPLES, index

MALFORMED = (b"", b"{", b"[]", b"\xff\xfe", b'{"recipe": NaN}', b"[" * 5_000, b'{"recipe": {"lines": []}}')
WARM_UP_SHARE = 0.2
GROWTH_AT_MOST = 0.05


def free_port() -> int:
    """Return a port nobody listens on."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def resident(process: int) -> int:
    """Return the resident memory of a process [kB]."""
    status = Path(f"/proc/{process}/status").read_text(encoding="ascii")
    return int(next(line for line in status.splitlines() if line.startswith("VmRSS")).split()[1])


def wait_for(address: str) -> None:
    """Wait until the server answers."""
    for _ in range(200):
        try:
            httpx.get(f"{address}/health")
        except httpx.TransportError:
            time.sleep(0.1)
        else:
            return
    raise SystemExit("the server did not start")


def main(seconds: float) -> int:
    """Return 0 where no call failed and memory stayed within 5 % after the first fifth of the time."""
    port = free_port()
    address = f"http://127.0.0.1:{port}"
    bodies = [(entry["call"], (SAMPLES / f"{name}.json").read_bytes()) for name, entry in index().items()]
    with tempfile.TemporaryDirectory() as folder:
        server = subprocess.Popen(
            [sys.executable, "-m", "advisor", "serve", "--port", str(port)],
            env={**os.environ, "DOUGH_NOTEBOOK": f"{folder}/soak.sqlite3"},
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        try:
            wait_for(address)
            return load(address, server.pid, bodies, seconds)
        finally:
            server.terminate()
            server.wait(timeout=60)


def load(address: str, process: int, bodies: list[tuple[str, bytes]], seconds: float) -> int:
    """Send every sample and every malformed body in turn until the time is over."""
    json_type = {"Content-Type": "application/json"}
    start, calls, failed, settled = time.monotonic(), 0, 0, 0
    with httpx.Client(base_url=address, headers=json_type, timeout=60) as client:
        for number in itertools.count():
            call, body = bodies[number % len(bodies)]
            rubbish = MALFORMED[number % len(MALFORMED)]
            answers = [client.post(f"/v1/{call}", content=body), client.post(f"/v1/{call}", content=rubbish)]
            calls += len(answers)
            failed += sum(answer.status_code >= 500 for answer in answers)
            passed = time.monotonic() - start
            if not settled and passed > WARM_UP_SHARE * seconds:
                settled = resident(process)
            if passed > seconds:
                break
    growth = resident(process) / settled - 1
    told = {"calls": calls, "failed": failed, "seconds": round(passed), "memory_growth": round(growth, 4)}
    print(json.dumps(told))
    return int(failed > 0 or growth > GROWTH_AT_MOST)


if __name__ == "__main__":
    sys.exit(main(float(sys.argv[1]) if len(sys.argv) > 1 else 600.0))
