"""Rows: what is stored is never lost, never half there, never taken for an empty notebook."""

import io
import json
import os
import shutil
import signal
import sqlite3
import subprocess
import sys
import tempfile
import threading
import time
import zipfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import httpx

from tests.helpers import makers
from tests.helpers.server import ROOT, Served
from tests.soak.promises.kept import Row

_DOUGHS = 20


def rows() -> Iterator[Row]:
    """Yield the attacks, each on a server of its own."""
    lost = (0.0, "doughs lost")
    yield Row("a backup holds what was acknowledged", "5 backups beside a writer", _backups, *lost)
    yield Row(
        "the file alone is whole after 2 s", "copied beside the server, and after kill -9", _copied, *lost
    )
    yield Row("a leftover write-ahead file undoes nothing", "restored after kill -9", _restored, *lost)
    yield Row(
        "what is no longer there is refused", "the file moved away from a server", _moved, 0.0, "acknowledged"
    )
    yield Row("what holds no tables is refused", "an empty database in its place", _empty, 0.0, "served")
    yield Row("an import is whole or nothing", "zips cut, lacking, strange", _zips, *lost)
    yield Row("a copy of every day, if asked for", "DOUGH_NIGHTLY_COPIES=2", _nightly, 15.0, "s")
    yield Row(
        "failures of storage leave one line", "a file moved away, /ready asked", _told, 0.0, "words lacking"
    )


class _Shop:
    """A server with a notebook of its own, and what was acknowledged."""

    def __init__(self, folder: Path, **environment: str) -> None:
        self.file = folder / "shop.sqlite3"
        self.server = Served(self.file, **environment)
        self.acknowledged: set[str] = set()

    def write(self, count: int = _DOUGHS) -> int:
        """Write doughs and return how many were acknowledged."""
        made = [
            httpx.post(
                f"{self.server.url}v1/doughs",
                json={"recipe": makers.recipe(n), "report": makers.report(n)},
                trust_env=False,
                timeout=60,
            )
            for n in range(count)
        ]
        taken = {one.json()["id"] for one in made if one.status_code == 201}
        self.acknowledged |= taken
        return len(taken)

    def call(self, method: str, path: str, **options: Any) -> httpx.Response:
        """Return an answer."""
        return httpx.request(method, f"{self.server.url}{path}", trust_env=False, timeout=60, **options)

    def lacking(self) -> float:
        """Return how many of the acknowledged doughs the server no longer has."""
        return float(
            len(self.acknowledged - {one["id"] for one in self.call("GET", "v1/notebook").json()["doughs"]})
        )


@contextmanager
def _shop(**environment: str) -> Iterator[_Shop]:
    with tempfile.TemporaryDirectory() as folder:
        shop = _Shop(Path(folder), **environment)
        with shop.server:
            yield shop


def _kept(file: Path) -> set[str]:
    opened = sqlite3.connect(f"{file.as_uri()}?mode=ro&immutable=1", uri=True)
    try:
        return {one for (one,) in opened.execute("SELECT id FROM doughs")}
    finally:
        opened.close()


def _command(shop: _Shop, *words: str) -> subprocess.CompletedProcess[str]:
    environment = {**os.environ, "DOUGH_NOTEBOOK": str(shop.file)}
    return subprocess.run(
        [sys.executable, "-m", "advisor", *words],
        cwd=ROOT,
        env=environment,
        capture_output=True,
        text=True,
        check=False,
    )


def _backups() -> float:
    with _shop() as shop:
        shop.write(1)
        over, lost = threading.Event(), 0

        def go_on() -> None:
            while not over.is_set():
                shop.write(1)

        writer = threading.Thread(target=go_on)
        writer.start()
        try:
            for number in range(5):
                before, target = set(shop.acknowledged), shop.file.with_name(f"backup-{number}.sqlite3")
                target.write_bytes(shop.call("GET", "v1/backup").content)
                lost += len(before - _kept(target))
        finally:
            over.set()
            writer.join()
        return float(lost)


def _copied() -> float:
    with _shop() as shop:
        shop.write()
        time.sleep(2.5)
        copy = shop.file.with_name("copy.sqlite3")
        shutil.copy(shop.file, copy)
        lost = len(shop.acknowledged - _kept(copy))
        shop.server.stop(signal.SIGKILL)
        shutil.copy(shop.file, copy)
        return float(lost + len(shop.acknowledged - _kept(copy)))


def _restored() -> float:
    with _shop() as shop:
        shop.write()
        backup = shop.file.with_name("backup.sqlite3")
        backup.write_bytes(shop.call("GET", "v1/backup").content)
        wanted = set(shop.acknowledged)
        shop.write(1)
        shop.server.stop(signal.SIGKILL)
        done = _command(shop, "restore", str(backup), "--yes")
        if done.returncode:
            raise AssertionError(done.stderr)
        shop.server.start()
        kept = {one["id"] for one in shop.call("GET", "v1/notebook").json()["doughs"]}
        return float(len(kept ^ wanted))


def _moved() -> float:
    with _shop() as shop:
        shop.write()
        shop.file.rename(shop.file.with_name("elsewhere.sqlite3"))
        return float(shop.write(5))


def _empty() -> float:
    with _shop() as shop:
        shop.write()
        shop.server.stop()
        shop.file.unlink()
        sqlite3.connect(shop.file).execute("VACUUM").connection.close()
        shop.file.write_bytes(shop.file.read_bytes() or b"\0" * 4096)
        try:
            shop.server.start()
        except RuntimeError as error:
            return 0.0 if "The file" in str(error) and "Traceback" not in str(error) else 1.0
        return 1.0


def _zips() -> float:
    with _shop() as shop:
        shop.write()
        out = shop.call("GET", "v1/notebook", headers={"Accept": "application/zip"})
        whole = out.content
        headers = {"Content-Type": "application/zip", "If-Match": out.headers["etag"]}

        def without(change: Callable[[dict[str, bytes]], None]) -> bytes:
            with zipfile.ZipFile(io.BytesIO(whole)) as bundle:
                tables = {name: bundle.read(name) for name in bundle.namelist()}
            change(tables)
            packed = io.BytesIO()
            with zipfile.ZipFile(packed, "w") as bundle:
                for name, table in tables.items():
                    bundle.writestr(name, table)
            return packed.getvalue()

        wrong = [whole[: len(whole) * part // 10] for part in range(10)]
        wrong += [
            whole[:at] + b"\xff" + whole[at + 1 :] for at in range(0, len(whole), max(1, len(whole) // 40))
        ]
        wrong.append(without(lambda tables: tables.pop("doughs.csv") and None))
        wrong.append(without(lambda tables: tables.update({"doughs.csv": b"strange,header\n1,2\n"})))
        wrong.append(without(lambda tables: tables.update({"more.csv": b"a\n1\n"})))
        for body in wrong:
            told = shop.call("PUT", "v1/notebook", content=body, headers=headers)
            if told.status_code in (200, 201):
                headers["If-Match"] = told.headers["etag"]
            elif told.status_code >= 500:
                raise AssertionError(told.text[:300])
        return shop.lacking()


def _nightly() -> float:
    with _shop(DOUGH_NIGHTLY_COPIES="2") as shop:
        shop.write()
        shop.server.stop()
        shop.server.start()
        began = time.monotonic()
        while not (copies := list((shop.file.parent / "backups").glob("*.sqlite3"))):
            if time.monotonic() - began > 60:
                raise AssertionError("no copy was made")
            time.sleep(0.1)
        took = time.monotonic() - began
        if not shop.acknowledged <= _kept(copies[0]):
            raise AssertionError("the copy lacks doughs")
        return took


def _told() -> float:
    with _shop() as shop:
        shop.write(1)
        shop.file.rename(shop.file.with_name("elsewhere.sqlite3"))
        ready, wrote = shop.call("GET", "ready"), shop.write(1)
        lines = [json.loads(line) for line in shop.server.said().splitlines() if line.startswith("{")]
        storage = [line for line in lines if line["event"] == "storage"]
        words = (
            ready.status_code == 503,
            not wrote,
            len(storage) == 2,
            all(one["cause"] and one["caller"] for one in storage),
        )
        return float(words.count(False))
