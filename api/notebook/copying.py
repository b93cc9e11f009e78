"""One consistent copy of a notebook, as a file of SQLite: whole and on the disk, or not there at all."""

import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import sqlalchemy as sa
from sqlalchemy.engine import Connection

from api.notebook import schema
from api.notebook.errors import Storage

_BUSY_SECONDS = 5.0
_ROWS_AT_ONCE = 500


@contextmanager
def copied(target: Path) -> Iterator[Path]:
    """Give an empty file that takes the place of the target once it is filled, sound and on the disk.

    Raises
    ------
    Storage
        What was written into it is not sound.
    """
    part = target.with_name(f"{target.name}.{os.getpid()}.part")
    part.unlink(missing_ok=True)
    os.close(os.open(part, os.O_RDWR | os.O_CREAT | os.O_EXCL, 0o600))
    try:
        yield part
        if not is_sound(part):
            raise Storage(f"The copy {target} was not sound and was not kept; the notebook is as it was.")
        _synced(part)
        part.replace(target)
        _synced(target.parent)
    finally:
        part.unlink(missing_ok=True)


def copy_file(source: Path, target: Path) -> None:
    """Copy a file of SQLite as one state of it, whoever writes in it meanwhile."""
    with copied(target) as part, reading(source) as opened:
        opened.execute("VACUUM INTO ?", (str(part),))


def copy_tables(connection: Connection, target: Path) -> None:
    """Copy what a connection to any database sees into a file of SQLite."""
    with copied(target) as part:
        engine = sa.create_engine(sa.URL.create("sqlite", database=str(part)))
        try:
            with engine.begin() as into:
                schema.metadata.create_all(into)
                into.exec_driver_sql(f"PRAGMA application_id = {schema.APPLICATION}")
                into.exec_driver_sql("CREATE TABLE alembic_version (version_num VARCHAR(32) NOT NULL)")
                into.exec_driver_sql(f"INSERT INTO alembic_version VALUES ('{schema.NEWEST}')")  # noqa: S608
                copy_rows(connection, into)
        finally:
            engine.dispose()


def copy_rows(source: Connection, target: Connection) -> None:
    """Copy every row of every table into empty tables."""
    for table in schema.metadata.sorted_tables:
        rows = source.execution_options(yield_per=_ROWS_AT_ONCE).execute(sa.select(table)).mappings()
        for some in rows.partitions():
            target.execute(sa.insert(table), [dict(row) for row in some])


def rows_of(file: Path) -> dict[str, int]:
    """Return how many rows each table of a sound notebook's file has."""
    with reading(file) as opened:
        names = [name for (name,) in opened.execute("SELECT name FROM sqlite_master WHERE type = 'table'")]
        known = [table.name for table in schema.metadata.sorted_tables if table.name in names]
        return {name: opened.execute(f"SELECT count(*) FROM {name}").fetchone()[0] for name in known}  # noqa: S608


def is_sound(file: Path) -> bool:
    """Tell whether every page and every index of a file of SQLite is as it should be."""
    with reading(file) as opened:
        return bool(opened.execute("PRAGMA integrity_check(1)").fetchone()[0] == "ok")


@contextmanager
def reading(file: Path) -> Iterator[sqlite3.Connection]:
    """Give a connection to a file of SQLite that changes nothing in it."""
    connected = sqlite3.connect(f"{file.absolute().as_uri()}?mode=ro", uri=True, timeout=_BUSY_SECONDS)
    with closing(connected) as opened:
        yield opened


def _synced(path: Path) -> None:
    """Make sure that a file, or the names in a folder, are on the disk."""
    opened = os.open(path, os.O_RDONLY)
    try:
        os.fsync(opened)
    finally:
        os.close(opened)
