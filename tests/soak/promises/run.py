"""Runs the attacks: those on one server with another caller beside them, then those that need one of their own."""

import tempfile
from collections.abc import Iterator
from itertools import chain
from pathlib import Path

import httpx

from tests.helpers.server import Served
from tests.soak.promises import claims, computing, crowding, keys, storage
from tests.soak.promises.attacker import Attacker
from tests.soak.promises.kept import Kept, Row, another_caller, tried


def run(*, short: bool) -> Iterator[Kept]:
    """Yield what came of every attack; in short not of those on storage, keys and the end, which have tests of their own."""
    with tempfile.TemporaryDirectory() as folder, Served(Path(folder) / "shop.sqlite3") as server:
        first = made(server, "house")
        other = made(server, "other", Authorization=f"Bearer {first}")
        attacker = Attacker(server, first, short=short)
        for row in chain(computing.rows(attacker), crowding.rows(attacker)):
            yield tried(row, None if row.alone else another_caller(server, other))
        attacker.client.close()
        if not short:
            yield tried(
                Row(
                    "told to end, it ends within 15 s",
                    "a sweep of 100 000 lines",
                    lambda: computing.ended(attacker),
                    15.0,
                    "s",
                )
            )
    alone = () if short else chain(storage.rows(), keys.rows())
    for row in chain(alone, claims.rows(short=short)):
        yield tried(row)


def made(server: Served, label: str, **headers: str) -> str:
    told = httpx.post(f"{server.url}v1/keys", json={"label": label}, headers=headers, trust_env=False)
    key: str = told.json()["key"]
    return key
