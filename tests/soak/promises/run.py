"""Runs the attacks: those on one server with another caller beside them, then those that need one of their own."""

import tempfile
from collections.abc import Iterable, Iterator, Sequence
from itertools import chain
from pathlib import Path

import httpx

from tests.helpers.server import Served
from tests.soak.promises import claims, computing, crowding, keys, storage
from tests.soak.promises.attacker import Attacker
from tests.soak.promises.kept import Kept, Row, another_caller, tried


def run(*, short: bool, named: Sequence[str] = ()) -> Iterator[Kept]:
    """Yield what came of every attack; in short not of those on storage, keys and the end, which have tests of their own.

    Of ``named`` parts of promises and attacks only those are made that have one of them.
    """

    def chosen(*rows: Iterable[Row]) -> Iterator[Row]:
        for row in chain(*rows):
            if not named or any(part in f"{row.promise} {row.attack}" for part in named):
                yield row

    with tempfile.TemporaryDirectory() as folder, Served(Path(folder) / "shop.sqlite3") as server:
        first = made(server, "house")
        other = made(server, "other", Authorization=f"Bearer {first}")
        attacker = Attacker(server, first, short=short)
        with another_caller(server, other) as beside:
            for row in chosen(computing.rows(attacker), crowding.rows(attacker)):
                yield tried(row, None if row.alone else beside())
        attacker.client.close()
        if not short:
            act = lambda: computing.ended(attacker)  # noqa: E731
            end = Row("told to end, it ends within 15 s", "a sweep of 100 000 lines", act, 15.0, "s")
            yield from map(tried, chosen([end]))
    alone = () if short else chain(storage.rows(), keys.rows())
    yield from map(tried, chosen(alone, claims.rows(short=short)))


def made(server: Served, label: str, **headers: str) -> str:
    told = httpx.post(f"{server.url}v1/keys", json={"label": label}, headers=headers, trust_env=False)
    key: str = told.json()["key"]
    return key
