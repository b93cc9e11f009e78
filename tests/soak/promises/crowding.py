"""Rows: nobody is shut out by slow connections, by another's long work, or by who holds the notebook."""

import json
import threading
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor

from tests.soak.promises.attacker import Attacker
from tests.soak.promises.kept import Row
from tests.soak.promises.largest import small_but_long


def rows(attacker: Attacker) -> Iterator[Row]:
    """Yield the attacks, after none at all: how another caller fares on this machine anyway."""
    if attacker.short:
        yield Row(
            "nobody is shut out", "slow bodies and half heads at once", lambda: _both(attacker), 15.0, "s"
        )
    else:
        yield Row(
            "as it is without an attack", "nothing for 3 s", lambda: float(time.sleep(3) or 0), 0.0, "s"
        )
        for what, most, bodies in (
            ("128 slow bodies with keys made up", 15.0, True),
            ("200 half heads", 9.0, False),
        ):
            yield Row("nobody is shut out", what, lambda b=bodies: _slow(attacker, bodies=b), most, "s")
    yield Row(
        "health outside every bound", "96 requests of one caller", lambda: _crowded(attacker), 0.0, "refused"
    )
    yield Row(
        "long work is shared out", "30 long calculations of one caller", lambda: _long(attacker), 120.0, "s"
    )


def _both(attacker: Attacker) -> float:
    """Return after how long the last of all slow connections was let go [s]."""
    with ThreadPoolExecutor(2) as callers:
        return max(callers.map(lambda bodies: _slow(attacker, bodies=bodies), (True, False)))


def _slow(attacker: Attacker, *, bodies: bool) -> float:
    """Return after how long the last of many slow connections was let go [s]."""
    head = b"POST /v1/corrections HTTP/1.1\r\nHost: localhost\r\n"
    sent = (
        head
        + b"Authorization: Bearer made-up-%d\r\nContent-Type: application/json\r\nContent-Length: 999\r\n\r\n"
    )
    began = time.monotonic()
    held = [attacker.opened(sent % number if bodies else head) for number in range(128 if bodies else 200)]
    for one in held:
        while one.recv(4096):
            pass
        one.close()
    return time.monotonic() - began


def _crowded(attacker: Attacker) -> float:
    """Hold as many requests as one caller may, and count how often health refuses that caller."""
    head = f"POST /v1/corrections HTTP/1.1\r\nHost: localhost\r\nAuthorization: Bearer {attacker.key}\r\nContent-Type: application/json\r\nContent-Length: 999\r\n\r\n"
    held = [attacker.opened(head.encode()) for _ in range(96)]
    refused = sum(attacker.client.get("/health").status_code != 200 for _ in range(20))
    for one in held:
        one.close()
    return float(refused)


def _long(attacker: Attacker) -> float:
    """Ask for many long calculations at once, and return when the last is answered [s]."""
    path, body = next(one for one in small_but_long() if one[0].endswith("substitutions"))
    began = time.monotonic()
    asking = [
        threading.Thread(target=attacker.post, args=(path, json.dumps(body).encode()))
        for _ in range(6 if attacker.short else 30)
    ]
    for one in asking:
        one.start()
    for one in asking:
        one.join()
    return time.monotonic() - began
