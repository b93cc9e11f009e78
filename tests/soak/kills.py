"""Kill a server of two workers, imports, backups and restores at work, and look at what is left.

Usage: python -m tests.soak.kills [KILLS], twenty of each store unless told: SQLite, then PostgreSQL. Prints a line of figures
for each; leaves with 1 if anything acknowledged was lost or anything was half written.
"""

import contextlib
import json
import os
import random
import signal
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import httpx
from fastapi.testclient import TestClient

from api.app import create_app
from api.notebook.backup import back_up, restore
from api.settings import Settings
from helpers.server import PATIENCE, ends_with_us, free_port
from tests.notebook.cluster import new_database, running
from tests.notebook.conftest import dough

KILLS = 20
WRITERS = 3
WORKS = ("writes", "imports", "backups", "restores")
ROOT = Path(__file__).parents[2]


@dataclass
class Figures:
    """What was done and what was found."""

    kills: int = 0
    acknowledged: int = 0
    lost: int = 0
    half_written: int = 0
    imports: int = 0
    backups: int = 0
    backups_cut: int = 0
    backups_lacking: int = 0
    restores_cut: dict[str, int] = field(default_factory=lambda: {"before": 0, "after": 0})

    @property
    def good(self) -> bool:
        """Whether every promise was kept."""
        return not (self.lost or self.half_written or self.backups_lacking)


class Run:
    """Kills of everything that is done to one notebook."""

    def __init__(self, place: str, folder: Path, seed: int) -> None:
        self.place = place
        self.folder = folder
        self.draw = random.Random(seed)
        self.figures = Figures()
        self.acknowledged: set[str] = set()
        self._taken: list[tuple[Path, set[str]]] = []

    def kill(self, work: str) -> None:
        """Do one thing, kill it at some moment, and look at what is left."""
        if work == "restores":
            self._restore_cut()
        else:
            self._server_killed(work)
        self.figures.kills += 1
        self._look()

    def _look(self) -> None:
        kept = self.kept(self.place)
        self.figures.lost += len(self.acknowledged - kept)
        self.figures.acknowledged = len(self.acknowledged)
        for file, before in self._taken:
            self.figures.backups += 1
            self.figures.backups_lacking += not before <= self.kept(str(file))
        self._taken.clear()

    def kept(self, place: str) -> set[str]:
        """Return the doughs a notebook holds; each must be whole and be learned from."""
        with TestClient(create_app(Settings(notebook=place))) as client:
            told = client.get("/v1/notebook")
            if told.status_code != 200 or client.get("/v1/window").status_code != 200:
                self.figures.half_written += 1
                return set()
            doughs = told.json()["doughs"]
        self.figures.half_written += sum(not (one["recipe"]["lines"] and one["report"]) for one in doughs)
        return {one["id"] for one in doughs}

    @contextlib.contextmanager
    def _server(self) -> Iterator[str]:
        port = free_port()
        server = subprocess.Popen(
            [sys.executable, "-m", "advisor", "serve", "--port", str(port), "--workers", "2"],
            cwd=ROOT,
            env={**os.environ, "DOUGH_NOTEBOOK": self.place},
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            start_new_session=True,
            preexec_fn=ends_with_us(signal.SIGKILL),
        )
        try:
            self._wait(f"http://127.0.0.1:{port}")
            yield f"http://127.0.0.1:{port}"
        finally:
            os.killpg(server.pid, signal.SIGKILL)
            server.wait()

    def _wait(self, base: str) -> None:
        until = time.monotonic() + PATIENCE
        with httpx.Client(base_url=base, timeout=5) as client:
            while time.monotonic() < until:
                with contextlib.suppress(httpx.TransportError):
                    if client.get("/health").status_code == 200:
                        return
                time.sleep(0.05)
        raise RuntimeError("the server gave no answer")

    @property
    def _done(self) -> int:
        return self.figures.imports + len(self._taken)

    def _server_killed(self, work: str) -> None:
        threads = []
        with self._server() as base:
            doing = {"imports": [self._import], "backups": [self._back_up, self._command_cut]}.get(work, [])
            for do in (*[self._write] * (1 if work == "imports" else WRITERS), *doing):
                threads.append(threading.Thread(target=self._until_killed, args=(do, base)))
                threads[-1].start()
            done = self._done
            enough = len(self.acknowledged) + 3
            until = time.monotonic() + PATIENCE
            while time.monotonic() < until:
                if len(self.acknowledged) >= enough and (not doing or self._done > done):
                    break
                time.sleep(0.05)
            time.sleep(self.draw.uniform(0.0, 1.5))
        for thread in threads:
            thread.join()

    def _until_killed(self, do: Any, base: str) -> None:
        with httpx.Client(base_url=base, timeout=30) as client, contextlib.suppress(httpx.TransportError):
            while True:
                do(client)

    def _write(self, client: httpx.Client) -> None:
        told = client.post("/v1/doughs", json=dough())
        if told.status_code == 201:
            self.acknowledged.add(told.json()["id"])

    def _import(self, client: httpx.Client) -> None:
        """Put the whole notebook in with one more dough; whoever wrote meanwhile makes it stale."""
        out = client.get("/v1/notebook")
        if out.status_code != 200:
            return
        more = {**dough(), "id": f"import-{self.draw.getrandbits(64):x}"}
        body = {**out.json(), "doughs": [*out.json()["doughs"], more]}
        condition = {"If-Match": out.headers["etag"]} if body["doughs"][:-1] else {}
        if client.put("/v1/notebook", json=body, headers=condition).status_code in (200, 201):
            self.acknowledged.add(more["id"])
            self.figures.imports += 1

    def _back_up(self, client: httpx.Client) -> None:
        before = set(self.acknowledged)
        told = client.get("/v1/backup")
        if told.status_code == 200:
            target = self._target()
            target.write_bytes(told.content)
            self._taken.append((target, before))

    def _command_cut(self, client: httpx.Client) -> None:
        before, target = set(self.acknowledged), self._target()
        self._cut(["backup", str(target)], 2.0)
        client.get("/health")
        if target.exists():
            self._taken.append((target, before))
        else:
            self.figures.backups_cut += 1

    def _restore_cut(self) -> None:
        settings, target = Settings(notebook=self.place), self._target()
        with TestClient(create_app(settings)) as client:
            self._write(client)
        back_up(settings, target)
        backed = self.kept(str(target))
        with TestClient(create_app(settings)) as client:
            self._write(client)
        before, started = self.kept(self.place), time.monotonic()
        self._cut(["restore", str(target), "--dry-run"], PATIENCE)
        self._cut(["restore", str(target), "--yes"], 1.2 * (time.monotonic() - started))
        found = self.kept(self.place)
        if found not in (before, backed):
            self.figures.half_written += 1
        self.figures.restores_cut["before" if found == before else "after"] += 1
        restore(settings, target)
        self.acknowledged &= backed

    def _cut(self, words: list[str], seconds: float) -> None:
        """Run a verb and kill it at some moment of so many seconds, if it has not ended by itself."""
        verb = subprocess.Popen(
            [sys.executable, "-m", "advisor", *words],
            cwd=ROOT,
            env={**os.environ, "DOUGH_NOTEBOOK": self.place},
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        try:
            verb.wait(seconds if seconds == PATIENCE else self.draw.uniform(0.3, 1.0) * seconds)
        except subprocess.TimeoutExpired:
            verb.kill()
            verb.wait()

    def _target(self) -> Path:
        """Return a name nothing has, though another run drew the same numbers in the same folder."""
        target = self.folder / f"backup-{self.draw.getrandbits(64):x}.sqlite3"
        assert not target.exists(), target
        return target


def kills(place: str, folder: Path, count: int, seed: int = 1) -> Figures:
    """Kill what is done to one notebook so many times, each kind in turn, and return what was found."""
    run = Run(place, folder, seed)
    for number in range(count):
        run.kill(WORKS[number % len(WORKS)])
    return run.figures


def main(count: int) -> int:
    """Return 0 where every promise was kept on both stores."""
    good = True
    with tempfile.TemporaryDirectory() as name, running() as cluster:
        folder = Path(name)
        for store, place in (
            ("sqlite", str(folder / "notebook.sqlite3")),
            ("postgresql", new_database(cluster, "kills")),
        ):
            started, own = time.monotonic(), folder / store
            own.mkdir()
            found = kills(place, own, count)
            good = good and found.good
            print(json.dumps({"store": store, **vars(found), "seconds": round(time.monotonic() - started)}))
    return int(not good)


if __name__ == "__main__":
    sys.exit(main(int(sys.argv[1]) if len(sys.argv) > 1 else KILLS))
