"""Rows: every refusal is quick and small, every calculation bounded, however large what is asked."""

import io
import json
import math
import os
import random
import signal
import time
import zipfile
from collections.abc import Iterator
from typing import Any

import httpx

from tests.answers.__main__ import SAMPLES, index
from tests.helpers import makers
from tests.soak.__main__ import resident, torn
from tests.soak.promises.attacker import LINES, MIB, Attacker
from tests.soak.promises.kept import Row
from tests.soak.promises.largest import all_largest, recipe, refused, small_but_long

_BOUNDED, _REFUSED = "calculations end within 2 s of computing", "any refusal within 1 s"
_IN_SHORT = ("assessments", "recoveries", "substitutions", "weighings")
_SWEPT = 9_000


def rows(attacker: Attacker) -> Iterator[Row]:
    """Yield the attacks by size, those that are refused first."""
    sent = list(refused())
    for what, body in sent:
        yield Row(_REFUSED, what, lambda body=body: attacker.post("/v1/corrections", body), 1.0, "s")
    yield Row(
        "any refusal within 100 MB", "all of these, three times", lambda: _grown(attacker, sent), 100.0, "MB"
    )
    yield Row(
        "who asks is known first", "64 MiB with a key that was made up", lambda: _made_up(attacker), 1.0, "s"
    )
    samples = dict(_samples())
    for path, largest in all_largest():
        if not attacker.short or path.endswith(_IN_SHORT):
            asked = lambda p=path, b=largest: attacker.computing(p, b)  # noqa: E731
            settled = lambda p=path, b=largest: _settled(attacker, p, samples[p], b)  # noqa: E731
            yield Row(_BOUNDED, f"{path}, the most of everything", settled, 2.0, "s", alone=True)
            yield Row("nobody waits", f"{path}, the most of everything", asked, math.inf, "s")
    for path, small in small_but_long():
        if not attacker.short:
            yield Row(
                "what runs in the loop is short",
                f"{path}, 60 lines",
                lambda p=path, b=small: attacker.computing(p, b, (200, 422)),
                0.25,
                "s",
                alone=True,
            )
    yield Row(
        "calculations end",
        f"a sweep of {_SWEPT // attacker.less} recipes in one body",
        lambda: swept(attacker),
        120.0,
        "s",
    )
    yield Row(
        "calculations end", "lines of JSON, nobody reading for 2 s", lambda: unread(attacker), 120.0, "s"
    )
    yield Row("calculations end", "a notebook put in and taken out", lambda: imported(attacker), 120.0, "s")
    calls = 20_000 // attacker.less
    yield Row(
        "memory stays",
        f"{calls} mixed calls",
        lambda: mixed(attacker, calls),
        10.0 if attacker.short else 3.0,
        "%",
    )


def _samples() -> Iterator[tuple[str, bytes]]:
    """Yield the address of the task of every sample, and the sample."""
    for name, entry in index().items():
        yield f"/v1/{entry['call']}", (SAMPLES / f"{name}.json").read_bytes()


def _settled(attacker: Attacker, path: str, sample: bytes, largest: Any) -> float:
    """Return the seconds of computing of a largest request; what is loaded at first use is no part of it."""
    attacker.post(path, sample)
    return attacker.computing(path, largest)


def _grown(attacker: Attacker, sent: list[tuple[str, bytes]]) -> float:
    """Return by how much the server grows over refusals [MB]."""
    before = resident(attacker.server.pid)
    for _ in range(3):
        for _, body in sent:
            attacker.post("/v1/corrections", body)
    return (resident(attacker.server.pid) - before) / 1024


def _made_up(attacker: Attacker) -> float:
    """Send much with a key nobody made, and return how long the refusal takes [s]."""
    head = f"PUT /v1/notebook HTTP/1.1\r\nHost: localhost\r\nAuthorization: Bearer made-up\r\nContent-Type: application/json\r\nContent-Length: {64 * MIB}\r\n\r\n"
    began = time.monotonic()
    with attacker.opened(head.encode()) as connection:
        answer = connection.recv(1000)
    if b" 401 " not in answer:
        raise AssertionError(answer[:100])
    return time.monotonic() - began


def swept(attacker: Attacker) -> float:
    """Ask for as many recipes as one body holds, and return how long it takes [s]."""
    recipes = [makers.recipe(seed % 50) for seed in range(_SWEPT // attacker.less)]
    body = {"task": "correction", "recipes": recipes, "report": {"feel": "too_wet"}}
    began = time.monotonic()
    told = attacker.answered("POST", "/v1/sweeps", json.dumps(body).encode())
    if told.status_code != 200 or len(told.json()["answers"]) < len(recipes):
        raise AssertionError(f"a sweep of {len(recipes)} was answered {told.status_code}: {told.text[:200]}")
    return time.monotonic() - began


def unread(attacker: Attacker) -> float:
    """Send lines of JSON and read no answer for a while; return how long all takes [s]."""
    line = (
        json.dumps({"task": "correction", "recipe": makers.recipe(1), "report": makers.report(1)}).encode()
        + b"\n"
    )
    count = 4_000 // attacker.less
    began = time.monotonic()
    with attacker.client.stream("POST", "/v1/sweeps", content=line * count, headers=LINES) as answer:
        time.sleep(2)
        came = sum(piece.count(b"\n") for piece in answer.iter_raw())
    if came != count:
        raise AssertionError(f"{came} of {count} lines were answered")
    return time.monotonic() - began


def imported(attacker: Attacker) -> float:
    """Put a large notebook in, take it out as tables, erase it; return how long all takes [s]."""
    count = 8_000 // attacker.less
    doughs = [
        {"id": f"d-{at}", "recipe": makers.recipe(at % 50), "report": makers.report(at % 50)}
        for at in range(count)
    ]
    began = time.monotonic()
    put = attacker.answered("PUT", "/v1/notebook", json.dumps({"format": 1, "doughs": doughs}).encode())
    if put.status_code not in (200, 201):
        raise AssertionError(put.text[:300])
    tables = attacker.answered("GET", "/v1/notebook", Accept="application/zip")
    with zipfile.ZipFile(io.BytesIO(tables.content)) as bundle:
        if bundle.read("doughs.csv").count(b"d-") < count:
            raise AssertionError("doughs are missing")
    gone = attacker.answered("DELETE", "/v1/notebook", **{"If-Match": tables.headers["etag"]})
    if gone.status_code != 204:
        raise AssertionError(gone.text[:300])
    return time.monotonic() - began


def mixed(attacker: Attacker, calls: int) -> float:
    """Return by how much the server grew after the first thousand of many calls, in short the first half [%].

    A fifth of the calls is rubbish; every tenth writes, reads, lists or erases in the notebook, asks for the
    page, for the description or for a short sweep.
    """
    bodies = list(_samples())
    draw, settled = random.Random(3), 0
    for number in range(calls):
        if number == min(calls // 2, 1000):
            settled = resident(attacker.server.pid)
        path, body = bodies[number % len(bodies)]
        if number % 10 == 9:
            _visit(attacker, number // 10)
        else:
            attacker.post(path, torn(body, draw) if number % 5 == 0 else body)
    return (resident(attacker.server.pid) / settled - 1) * 100


def _visit(attacker: Attacker, number: int) -> None:
    """Do another of the things that are no calculation."""
    kind = number % 8
    if kind == 0:
        dough = {"recipe": makers.recipe(number % 50), "report": makers.report(number % 50)}
        made = attacker.answered("POST", "/v1/doughs", json.dumps(dough).encode())
        if made.status_code == 201:
            attacker.answered("DELETE", made.headers["Location"], **{"If-Match": made.headers["ETag"]})
        elif made.status_code != 503 or "Retry-After" not in made.headers:
            raise AssertionError(made.text[:300])
    elif kind == 1:
        line = json.dumps({"recipe": makers.recipe(number % 50), "report": makers.report(number % 50)})
        attacker.answered("POST", "/v1/sweeps?task=correction", line.encode() * 1, **LINES)
    else:
        paths = ("/", "/openapi.json", "/v1/materials?limit=200", "/v1/notebook", "/v1/window", "/metrics")
        attacker.answered("GET", paths[kind - 2])


def ended(attacker: Attacker) -> float:
    """Return how long the server takes to end beside a sweep that goes on [s]; it says where it stopped."""
    body = {"task": "correction", "recipe": recipe(12), "report": makers.report(1)}
    sent = (json.dumps(body).encode() + b"\n" for _ in range(100_000))
    headers = {**LINES, "Authorization": f"Bearer {attacker.key}"}
    url = f"{attacker.server.url}v1/sweeps"
    with httpx.stream("POST", url, content=sent, headers=headers, timeout=60, trust_env=False) as answer:
        pieces = answer.iter_raw()
        came, began = next(pieces), time.monotonic()
        os.kill(attacker.server.pid, signal.SIGTERM)
        came += b"".join(pieces)
    attacker.server.stop()
    seconds = time.monotonic() - began
    last = json.loads(came.splitlines()[-1])
    if last["problem"]["code"] != "busy":
        raise AssertionError(last)
    return seconds
