"""Try every promise of the server on one of its own, and print promise, attack and figure.

Usage: python -m tests.soak.promises [short]. Beside every attack another caller asks for health and for a correction all
the time; how long the slowest of these took is printed too. The short form sends less of everything.
"""

import json
import os
import random
import signal
import socket
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import httpx

from tests.answers.__main__ import SAMPLES, index
from tests.helpers import makers
from tests.helpers.server import Served
from tests.soak.__main__ import resident, torn

JSON = {"Content-Type": "application/json"}
LINES = {"Content-Type": "application/x-ndjson"}
HEALTH_SECONDS, CORRECTION_SECONDS = 0.5, 1.0
MIB = 1024 * 1024


@dataclass
class Beside:
    """Another caller: how long the slowest of its calls took [s], by kind."""

    slowest: dict[str, float] = field(default_factory=lambda: {"health": 0.0, "correction": 0.0})
    failed: list[str] = field(default_factory=list)


@dataclass(frozen=True)
class Kept:
    """What came of one attack."""

    promise: str
    attack: str
    figure: float
    most: float
    unit: str
    beside: Beside

    @property
    def holds(self) -> bool:
        """Whether the figure stays within what was promised, and nobody else was shut out."""
        return self.figure <= self.most and not self.beside.failed

    def line(self) -> str:
        """Return it as a line of the table."""
        word = "kept  " if self.holds else "BROKEN"
        others = ", ".join(f"{kind} {seconds:.2f} s" for kind, seconds in self.beside.slowest.items())
        failed = f"; failed: {self.beside.failed[:3]}" if self.beside.failed else ""
        return f"{word} {self.promise:34} {self.attack:44} {self.figure:8.2f} of {self.most:g} {self.unit}; beside: {others}{failed}"


@contextmanager
def another_caller(server: Served, key: str) -> Iterator[Beside]:
    """Ask for health and, by itself, for a correction again and again until the attack is over."""
    beside, over = Beside(), threading.Event()
    body = {"recipe": makers.recipe(1), "report": makers.report(1)}

    def ask(kind: str, method: str, path: str, **options: Any) -> None:
        headers = {"Authorization": f"Bearer {key}"}
        with httpx.Client(base_url=server.url, timeout=60, headers=headers, trust_env=False) as client:
            while not over.is_set():
                began = time.monotonic()
                try:
                    status = client.request(method, path, **options).status_code
                except httpx.HTTPError as error:
                    if not over.is_set():
                        beside.failed.append(f"{kind} {type(error).__name__}")
                    continue
                if status != 200:
                    beside.failed.append(f"{kind} {status}")
                beside.slowest[kind] = max(beside.slowest[kind], time.monotonic() - began)
                time.sleep(0.02)

    asking = [
        threading.Thread(target=ask, args=("health", "GET", "/health")),
        threading.Thread(target=ask, args=("correction", "POST", "/v1/corrections"), kwargs={"json": body}),
    ]
    for one in asking:
        one.start()
    try:
        yield beside
    finally:
        over.set()
        for one in asking:
            one.join()


class Attacks:
    """The attacks on one server; each returns the figure its promise is about."""

    def __init__(self, server: Served, key: str, short: bool) -> None:
        self.server = server
        self.short = short
        headers = {"Authorization": f"Bearer {key}"}
        self.client = httpx.Client(base_url=server.url, timeout=120, headers=headers, trust_env=False)

    def table(self) -> Iterator[tuple[str, str, Callable[[], float], float, str]]:
        """Yield promise, attack, what does it, the most that was promised, and its unit."""
        for size in (16 * 1024, 256 * 1024, 4 * MIB - 100):
            yield (
                "any refusal within 1 s",
                f"{size // 1024} kB of empty objects",
                lambda s=size: self.objects(s),
                1.0,
                "s",
            )
        yield "any refusal within 1 s", "500 doughs of 190 empty lines", self.empty_doughs, 1.0, "s"
        yield "any refusal within 100 MB", "the same four, ten times", self.memory_of_refusals, 100.0, "MB"
        yield "who asks is known first", "64 MiB with a key that was made up", self.made_up_key, 1.0, "s"
        for lines in (60, 120, 200):
            yield (
                "calculations end within 2 s",
                f"a recovery of {lines} lines",
                lambda n=lines: self.recovery(n),
                2.0,
                "s",
            )
        yield "calculations end within 2 s", "additions to a bowl of 200 lines", self.addition, 2.0, "s"
        yield (
            "calculations end within 2 s",
            "a correction with 500 doughs of 12 lines",
            self.history,
            2.0,
            "s",
        )
        yield (
            "calculations end within 2 s",
            "a correction, 1 000 materials in 500 doughs",
            self.many_powders,
            2.0,
            "s",
        )
        yield "nobody is shut out", "128 slow bodies with keys made up", lambda: self.slow(True), 15.0, "s"
        yield "nobody is shut out", "200 half heads", lambda: self.slow(False), 9.0, "s"
        calls = 600 if self.short else 20_000
        yield "memory stays", f"{calls} mixed calls", lambda: self.mixed(calls), 3.0, "%"

    def post(self, path: str, content: bytes, **headers: str) -> float:
        """Return how long one call took [s]; a fault of the server is an error."""
        began = time.monotonic()
        status = self.client.post(path, content=content, headers={**JSON, **headers}).status_code
        if status >= 500:
            raise AssertionError(f"{path} answered {status}")
        return time.monotonic() - began

    def objects(self, size: int) -> float:
        """Send a body of empty objects."""
        return self.post("/v1/corrections", b'{"materials":[' + b"{}," * (size // 3 - 6) + b"{}]}")

    def empty_doughs(self) -> float:
        """Send doughs without anything in them."""
        history = [{"recipe": {"lines": [{}] * 190}, "report": {}}] * 500
        return self.post("/v1/corrections", json.dumps({"history": history}).encode())

    def memory_of_refusals(self) -> float:
        """Return by how much the server grows over refusals [MB]."""
        before = resident(self.server.pid)
        for _ in range(3 if self.short else 10):
            for size in (16 * 1024, 256 * 1024, 4 * MIB - 100):
                self.objects(size)
            self.empty_doughs()
        return (resident(self.server.pid) - before) / 1024

    def made_up_key(self) -> float:
        """Send much with a key nobody made."""
        head = f"PUT /v1/notebook HTTP/1.1\r\nHost: localhost\r\nAuthorization: Bearer made-up\r\nContent-Type: application/json\r\nContent-Length: {64 * MIB}\r\n\r\n"
        began = time.monotonic()
        with self.opened(head.encode()) as connection:
            answer = connection.recv(1000)
        if b" 401 " not in answer:
            raise AssertionError(answer[:100])
        return time.monotonic() - began

    def opened(self, sent: bytes) -> socket.socket:
        """Return a connection on which something was sent."""
        connection = socket.create_connection(("127.0.0.1", self.server.port), timeout=60)
        connection.sendall(sent)
        return connection

    def recipe(self, lines: int) -> tuple[dict[str, Any], list[dict[str, Any]]]:
        """Return a recipe of many lines, and its materials."""
        library = self.client.get("/v1/materials?limit=200").json()["items"]
        solids = [one for one in library if one["form"] in ("powder", "granule", "flake")]
        liquids = [one for one in library if one["form"] in ("liquid", "paste")]
        draw, materials = random.Random(lines), []
        for place in range(lines):
            kind = liquids if place % 3 == 0 else solids
            left_out = ("use", "evidence", "incompatible_with")
            whole = {
                name: value for name, value in kind[place * 7 % len(kind)].items() if name not in left_out
            }
            materials.append({**whole, "key": f"m-{place}", "name": f"Material {place}"})
        amounts = [draw.uniform(0.5, 2.0) * (0.55 if place % 3 == 0 else 1.0) for place in range(lines)]
        percents = [round(amount * 100 / sum(amounts), 2) for amount in amounts]
        percents[0] = round(percents[0] + 100 - sum(percents), 2)
        written = [{"material": f"m-{place}", "percent": percent} for place, percent in enumerate(percents)]
        return {"name": "Bar of many things", "lines": written}, materials

    def asked(self, path: str, **body: Any) -> float:
        """Return how long a calculation took [s]."""
        return self.post(path, json.dumps(body).encode())

    def recovery(self, lines: int) -> float:
        """Mend a batch in which much was over-weighed."""
        recipe, materials = self.recipe(lines)
        weighed = {
            line["material"]: round(line["percent"] * 10 * (1 + 0.1 * (place % 5)), 1)
            for place, line in enumerate(recipe["lines"])
        }
        fields = {"batch_grams": 1000, "weighed": weighed, "mixed": True, "balance_step": 0.1}
        return self.asked("/v1/recoveries", recipe=recipe, materials=materials, **fields)

    def addition(self) -> float:
        """Save a dough of many lines."""
        recipe, materials = self.recipe(200)
        lines = [{"material": one["material"], "grams": one["percent"] * 10} for one in recipe["lines"]]
        return self.asked(
            "/v1/additions",
            recipe={"lines": lines},
            materials=materials,
            report={"feel": "too_wet"},
            balance_step=0.1,
        )

    def history(self) -> float:
        """Correct with many doughs."""
        recipe, materials = self.recipe(12)
        feels = ("too_wet", "too_dry", "workable")
        doughs = [{"recipe": recipe, "report": {"feel": feels[place % 3]}} for place in range(500)]
        report = {"feel": "too_wet"}
        return self.asked(
            "/v1/corrections", recipe=recipe, materials=materials, report=report, history=doughs
        )

    def many_powders(self) -> float:
        """Correct with doughs of many materials."""
        _, materials = self.recipe(1000)
        draw = random.Random(5)

        def recipe() -> dict[str, Any]:
            some = draw.sample(materials, 10)
            return {"lines": [{"material": one["key"], "percent": 10} for one in some]}

        doughs = [{"recipe": recipe(), "report": {"feel": "too_wet"}} for _ in range(500)]
        report = {"feel": "too_wet"}
        return self.asked(
            "/v1/corrections", recipe=recipe(), materials=materials, report=report, history=doughs
        )

    def slow(self, bodies: bool) -> float:
        """Return after how long the last of many slow connections was let go [s]."""
        head = b"POST /v1/corrections HTTP/1.1\r\nHost: localhost\r\n"
        sent = (
            head
            + b"Authorization: Bearer made-up-%d\r\nContent-Type: application/json\r\nContent-Length: 999\r\n\r\n"
        )
        began = time.monotonic()
        held = [self.opened(sent % number if bodies else head) for number in range(128 if bodies else 200)]
        for one in held:
            while one.recv(4096):
                pass
            one.close()
        return time.monotonic() - began

    def mixed(self, calls: int) -> float:
        """Return by how much the server grew after the first twentieth of many calls [%]."""
        bodies = [
            (f"/v1/{entry['call']}", (SAMPLES / f"{name}.json").read_bytes())
            for name, entry in index().items()
        ]
        draw, settled = random.Random(3), 0
        for number in range(calls):
            if number == calls // 20:
                settled = resident(self.server.pid)
            path, body = bodies[number % len(bodies)]
            self.post(path, torn(body, draw) if number % 5 == 0 else body)
        return (resident(self.server.pid) / settled - 1) * 100


def ended(server: Served, key: str) -> float:
    """Return how long the server takes to end beside a sweep that goes on [s]; it says where it stopped."""
    body = {"task": "correction", "recipe": makers.recipe(1), "report": makers.report(1)}
    sent = (json.dumps(body).encode() + b"\n" for _ in range(100_000))
    headers = {**LINES, "Authorization": f"Bearer {key}"}
    with httpx.stream("POST", f"{server.url}v1/sweeps", content=sent, headers=headers, timeout=60) as answer:
        pieces = answer.iter_raw()
        came, began = next(pieces), time.monotonic()
        os.kill(server.pid, signal.SIGTERM)
        came += b"".join(pieces)
    server.stop()
    seconds = time.monotonic() - began
    last = json.loads(came.splitlines()[-1])
    if last["problem"]["code"] != "busy":
        raise AssertionError(last)
    return seconds


def run(short: bool) -> Iterator[Kept]:
    """Yield what came of every attack."""
    with tempfile.TemporaryDirectory() as folder, Served(Path(folder) / "shop.sqlite3") as server:
        made = [
            httpx.post(f"{server.url}v1/keys", json={"label": "house"}, trust_env=False).json()["key"],
        ]
        owner = {"Authorization": f"Bearer {made[0]}"}
        other = httpx.post(
            f"{server.url}v1/keys", json={"label": "other"}, headers=owner, trust_env=False
        ).json()["key"]
        attacks = Attacks(server, made[0], short)
        for promise, attack, act, most, unit in attacks.table():
            with another_caller(server, other) as beside:
                time.sleep(0.2)
                figure = act()
            yield Kept(promise, attack, figure, most, unit, beside)
        attacks.client.close()
        yield Kept(
            "told to end, it ends within 15 s",
            "a sweep of 100 000 lines",
            ended(server, other),
            15.0,
            "s",
            Beside(),
        )


def main(short: bool) -> int:
    """Print the table; return 1 where a promise is broken."""
    broken = 0
    for kept in run(short):
        slow = (
            kept.beside.slowest["health"] > HEALTH_SECONDS
            or kept.beside.slowest["correction"] > CORRECTION_SECONDS
        )
        broken += not kept.holds or slow
        print(kept.line() + ("; SLOW beside" if slow else ""), flush=True)
    return int(broken > 0)


if __name__ == "__main__":
    sys.exit(main("short" in sys.argv[1:]))
