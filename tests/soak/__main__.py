"""Load a server of its own on loopback for a bounded time, then say whether it failed or grew.

Usage: python -m tests.soak [SECONDS], ten minutes unless told. First come 10 000 malformed bodies (fewer in a short
run), then every sample, lines of a sweep and more rubbish, from four callers at once who each wait for their answers.
"""

import asyncio
import itertools
import json
import random
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

import httpx

from tests.answers.__main__ import SAMPLES, index
from tests.helpers import makers
from tests.helpers.server import Served

MALFORMED = 10_000
FULL_SECONDS = 600.0
CALLERS = 4
SWEEP_LINES = 60
WARM_UP_SHARE = 0.2
GROWTH_AT_MOST = 0.05
SLOWEST_SECONDS = 60
PIECES = (
    b"{",
    b"}",
    b"[",
    b"]",
    b'"',
    b"\\",
    b"null",
    b"1e999",
    b"-",
    b"NaN",
    b"\x00",
    b"\xff",
    b",",
    b"\\ud800",
)
JSON = {"Content-Type": "application/json"}
LINES = {"Content-Type": "application/x-ndjson"}
Call = tuple[str, bytes]


def resident(process: int) -> int:
    """Return the resident memory of a process and of those it started [kB]."""
    status = Path(f"/proc/{process}/status").read_text(encoding="ascii")
    own = int(next(line for line in status.splitlines() if line.startswith("VmRSS")).split()[1])
    tasks = Path(f"/proc/{process}/task").glob("*/children")
    return own + sum(resident(int(child)) for task in tasks for child in task.read_text("ascii").split())


def main(seconds: float) -> int:
    """Return 0 where no call failed and memory stayed within 5 % after the first fifth of the time."""
    calls = [
        (f"/v1/{entry['call']}", (SAMPLES / f"{name}.json").read_bytes()) for name, entry in index().items()
    ]
    with tempfile.TemporaryDirectory() as folder, Served(Path(folder) / "soak.sqlite3") as server:
        return asyncio.run(load(server.url.rstrip("/"), server.pid, calls, seconds))


async def load(address: str, process: int, calls: list[Call], seconds: float) -> int:
    """Send rubbish first, then everything in turn until the time is over."""
    statuses: Counter[str] = Counter()
    async with httpx.AsyncClient(base_url=address, timeout=SLOWEST_SECONDS) as client:
        share = min(1.0, seconds / FULL_SECONDS)
        await asyncio.gather(*(rubbish(client, calls, n, statuses, share) for n in range(CALLERS)))
        malformed, start = statuses.total(), time.monotonic()
        loads = [
            asyncio.ensure_future(mixed(client, calls, n, start + seconds, statuses)) for n in range(CALLERS)
        ]
        await asyncio.sleep(WARM_UP_SHARE * seconds)
        settled = resident(process)
        await asyncio.gather(*loads)
    growth = resident(process) / settled - 1
    failed = sum(count for status, count in statuses.items() if status >= "500")
    told = {
        "malformed": malformed,
        "calls": statuses.total() - malformed,
        "seconds": round(time.monotonic() - start),
        "statuses": dict(sorted(statuses.items())),
        "failed": failed,
        "resident_mb": round(settled / 1024),
        "memory_growth": round(growth, 4),
    }
    print(json.dumps(told))
    return int(failed > 0 or growth > GROWTH_AT_MOST)


def torn(body: bytes, draw: random.Random) -> bytes:
    """Return a body with a few of its bytes replaced by rubbish."""
    out = bytearray(body)
    for _ in range(draw.randint(1, 5)):
        at = draw.randrange(len(out) + 1)
        out[at : at + draw.randint(0, 8)] = draw.choice(PIECES)
    return bytes(out)


async def rubbish(
    client: httpx.AsyncClient, calls: list[Call], caller: int, statuses: Counter[str], share: float
) -> None:
    """Send this caller's part of the malformed bodies."""
    draw = random.Random(caller)
    for _ in range(round(share * MALFORMED / CALLERS)):
        path, body = draw.choice(calls)
        answer = await client.post(path, content=torn(body, draw), headers=JSON)
        statuses[str(answer.status_code)] += 1


async def mixed(
    client: httpx.AsyncClient, calls: list[Call], caller: int, end: float, statuses: Counter[str]
) -> None:
    """Send samples, sweeps and rubbish until the end."""
    draw = random.Random(caller + CALLERS)
    lines = "".join(
        json.dumps({"recipe": makers.recipe(seed), "report": makers.report(seed)}) + "\n"
        for seed in range(caller * SWEEP_LINES, (caller + 1) * SWEEP_LINES)
    )
    for number in itertools.count(caller * 7):
        if time.monotonic() > end:
            return
        path, body = calls[number % len(calls)]
        if number % 50 == 0:
            answer = await client.post("/v1/sweeps", content=lines, headers=LINES)
            if answer.text.count("\n") != SWEEP_LINES:
                statuses["599 lines are missing"] += 1
        elif number % 5 == 0:
            answer = await client.post(path, content=torn(body, draw), headers=JSON)
        elif number % 11 == 0:
            answer = await client.get(
                draw.choice(("/health", "/metrics", "/v1/feels", "/v1/materials?q=clay"))
            )
        else:
            answer = await client.post(path, content=body, headers=JSON)
        statuses[str(answer.status_code)] += 1


if __name__ == "__main__":
    sys.exit(main(float(sys.argv[1]) if len(sys.argv) > 1 else FULL_SECONDS))
