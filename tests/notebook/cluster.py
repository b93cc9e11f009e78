"""Starts a PostgreSQL server for a test run: new, without network, as nobody of importance."""

import os
import pwd
import shutil
import signal
import subprocess
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import psycopg
import pytest

from tests.helpers.server import PATIENCE, ends_with_us

INSTALL = "There is no PostgreSQL on this machine. Install it once with:  sudo .ci/postgres"
SETTINGS = (
    "-c",
    "listen_addresses=",
    "-c",
    "fsync=off",
    "-c",
    "max_connections=60",
    "-c",
    "max_wal_size=64MB",
)


def program(name: str) -> Path:
    """Return a program of the PostgreSQL server."""
    on_path = shutil.which(name)
    found = sorted(Path("/usr/lib/postgresql").glob(f"*/bin/{name}"), key=lambda path: int(path.parts[4]))
    if not found and on_path is None:
        pytest.fail(INSTALL, pytrace=False)
    return found[-1] if found else Path(str(on_path))


def somebody() -> dict[str, Any]:
    """Return whom the server runs as: PostgreSQL refuses root."""
    if os.geteuid() != 0:
        return {}
    known = {entry.pw_name: entry for entry in pwd.getpwall()}
    user = known.get("postgres") or known["nobody"]
    return {"user": user.pw_uid, "group": user.pw_gid, "extra_groups": []}


@contextmanager
def running() -> Iterator[Path]:
    """Give the folder of the socket of a server that is gone afterwards."""
    initdb, whom = program("initdb"), somebody()
    folder = Path(tempfile.mkdtemp(prefix="dough-pg-"))
    data = folder / "data"
    if whom:
        os.chown(folder, whom["user"], whom["group"])

    def run(*words: object) -> None:
        subprocess.run(
            [str(word) for word in words],
            check=True,
            cwd=folder,
            stdout=subprocess.DEVNULL,
            stdin=subprocess.DEVNULL,
            env={"PATH": os.environ["PATH"], "LC_ALL": "C.UTF-8"},
            **whom,
        )

    try:
        run(initdb, "-D", data, "-U", "notebook", "-A", "trust", "-E", "UTF8", "--no-sync")
        with (folder / "log").open("w+") as log:
            server = subprocess.Popen(
                [str(program("postgres")), "-D", str(data), *SETTINGS, "-k", str(folder)],
                cwd=folder,
                stdout=log,
                stderr=subprocess.STDOUT,
                stdin=subprocess.DEVNULL,
                env={"PATH": os.environ["PATH"], "LC_ALL": "C.UTF-8"},
                preexec_fn=ends_with_us(signal.SIGQUIT),
                **whom,
            )
            try:
                wait_for(folder, server)
                yield folder
            finally:
                server.send_signal(signal.SIGQUIT)
                server.wait()
    finally:
        shutil.rmtree(folder)


def wait_for(socket: Path, server: "subprocess.Popen[bytes]") -> None:
    """Wait until the server answers; fail with its words where it does not."""
    patient_until = time.monotonic() + PATIENCE
    while True:
        try:
            psycopg.connect(f"host={socket} user=notebook dbname=postgres").close()
        except psycopg.OperationalError:
            if server.poll() is not None or time.monotonic() > patient_until:
                pytest.fail(f"PostgreSQL did not start. It said:\n{(socket / 'log').read_text()}")
            time.sleep(0.05)
        else:
            return


def new_database(socket: Path, name: str) -> str:
    """Make an empty database and return its URL."""
    with psycopg.connect(f"host={socket} user=notebook dbname=postgres", autocommit=True) as connection:
        connection.execute(f'CREATE DATABASE "{name}"')  # type: ignore[arg-type]
    return f"postgresql://notebook@/{name}?host={socket}"


def emptied_database(socket: Path, name: str) -> str:
    """Return the URL of an empty database, made at the first call and emptied at each other: a folder a test fills up."""
    with psycopg.connect(f"host={socket} user=notebook dbname=postgres", autocommit=True) as connection:
        if connection.execute("SELECT 1 FROM pg_database WHERE datname = %s", [name]).fetchone() is None:
            return new_database(socket, name)
        connection.execute(
            "SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname = %s", [name]
        )
    with psycopg.connect(f"host={socket} user=notebook dbname={name}", autocommit=True) as connection:
        connection.execute("DROP SCHEMA public CASCADE")
        connection.execute("CREATE SCHEMA public")
    return f"postgresql://notebook@/{name}?host={socket}"
