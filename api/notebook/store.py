"""Opens the notebook's database: where it lies, whether it is sound, how it is written.

SQLite writes one at a time (``BEGIN IMMEDIATE``), ahead of its file and through to the disk before it
answers; PostgreSQL holds the row of the shop.
"""

import os
import sqlite3
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import sqlalchemy as sa
from sqlalchemy import event, exc
from sqlalchemy.engine import URL, Connection, Engine, make_url
from sqlalchemy.pool import StaticPool

from api.http.errors import Busy
from api.notebook import schema
from api.notebook.errors import Storage
from api.notebook.place import place_of

_MAGIC = b"SQLite format 3\x00"
_BUSY_MS = 5000
_WRITES = "notebook_writes"
_LOCK_NUMBER = schema.APPLICATION


class Store:
    """One database of notebooks.

    Parameters
    ----------
    place : str
        A file for SQLite, or the URL of a database (``postgresql://...``).
    pages_at_most : int, optional
        Largest size of the file in SQLite's pages of 4096 bytes; without, as large as the disk.

    Raises
    ------
    Storage
        The place is no place for a notebook.
    """

    def __init__(self, place: str, *, pages_at_most: int | None = None) -> None:
        self._url = _url(place)
        self._pages_at_most = pages_at_most
        self._engine: Engine | None = None
        self._lock = threading.Lock()

    @property
    def place(self) -> str:
        """Where the notebook is, without a password."""
        return str(self._path) if self._path else place_of(self._url.render_as_string())

    @property
    def _path(self) -> Path | None:
        if self._url.get_backend_name() != "sqlite":
            return None
        return Path(self._url.database or "").absolute()

    @property
    def exists(self) -> bool:
        """Whether anything was ever stored, or may have been."""
        path = self._path
        return path is None or (path.exists() and path.stat().st_size > 0)

    def check(self) -> None:
        """Make sure that what exists can be read; change nothing.

        Raises
        ------
        Storage
            It is damaged, newer than this program, or no notebook.
        """
        if self.exists:
            with self.reading():
                pass

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """Give a connection that sees one state of the notebook; an empty one where there is none yet.

        Raises
        ------
        Storage, Busy
        """
        with _storage_errors(self.place):
            engine = self._opened() if self.exists else _nothing()
            with engine.connect() as connection:
                yield connection

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """Give a connection whose changes are all kept at the end, or none; makes the notebook if need be.

        Raises
        ------
        Storage, Busy
        """
        with _storage_errors(self.place):
            self._made()
            connected = self._opened().connect().execution_options(**{_WRITES: True})
            with connected as connection, connection.begin():
                yield connection

    def close(self) -> None:
        """Let go of every connection."""
        with self._lock:
            if self._engine is not None:
                self._engine.dispose()
                self._engine = None

    def _made(self) -> None:
        path = self._path
        if path is None or self.exists:
            return
        path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        os.close(os.open(path, os.O_RDWR | os.O_CREAT, 0o600))

    def _opened(self) -> Engine:
        with self._lock:
            if self._engine is None:
                if self._path is not None and self.exists:
                    _check_file(self._path)
                engine = self._connected()
                try:
                    _migrate(engine)
                except BaseException:
                    engine.dispose()
                    raise
                self._engine = engine
            return self._engine

    def _connected(self) -> Engine:
        if self._path is None:
            return sa.create_engine(self._url, pool_pre_ping=True, pool_timeout=_BUSY_MS / 1000)
        engine = sa.create_engine(self._url, pool_timeout=_BUSY_MS / 1000)
        event.listen(engine, "connect", self._set_up)
        event.listen(engine, "begin", _begin)
        return engine

    def _set_up(self, connection: Any, _: Any) -> None:
        connection.isolation_level = None
        settings = ["busy_timeout=5000", "journal_mode=WAL", "synchronous=FULL", "foreign_keys=ON"]
        if self._pages_at_most is not None:
            settings.append(f"max_page_count={self._pages_at_most}")
        for setting in settings:
            connection.execute(f"PRAGMA {setting}")


def _url(place: str) -> URL:
    if "://" not in place:
        return URL.create("sqlite", database=place)
    try:
        url = make_url(place)
    except exc.ArgumentError:
        raise Storage("The place of the notebook is neither a file nor the URL of a database.") from None
    if url.get_backend_name() == "postgresql":
        return url.set(drivername="postgresql+psycopg")
    if url.get_backend_name() == "sqlite" and url.database:
        return url.set(drivername="sqlite")
    raise Storage("The notebook can be a file of SQLite or a database of PostgreSQL.")


def _begin(connection: Connection) -> None:
    writes = connection.get_execution_options().get(_WRITES, False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


def _nothing() -> Engine:
    """Return an empty notebook in memory."""
    engine = sa.create_engine("sqlite://", poolclass=StaticPool, connect_args={"check_same_thread": False})
    schema.metadata.create_all(engine)
    return engine


def _check_file(path: Path) -> None:
    """Refuse a file that is damaged, newer or no notebook, without changing it."""
    with path.open("rb") as file:
        if file.read(len(_MAGIC)) != _MAGIC:
            raise _unfit(path, "is no notebook of this program")
    found = sqlite3.connect(f"{path.as_uri()}?mode=ro", uri=True, timeout=_BUSY_MS / 1000)
    try:
        sound = found.execute("PRAGMA quick_check(1)").fetchone()[0]
        names = {name for (name,) in found.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
        versions = (
            [version for (version,) in found.execute("SELECT version_num FROM alembic_version")]
            if "alembic_version" in names
            else []
        )
    except sqlite3.DatabaseError as error:
        if isinstance(error, sqlite3.OperationalError) and "malformed" not in str(error):
            raise
        raise _unfit(path, "is damaged") from None
    finally:
        found.close()
    if sound != "ok":
        raise _unfit(path, "is damaged")
    if names and not versions:
        raise _unfit(path, "is no notebook of this program")
    _check_version(versions, f"The file {path}")


def _unfit(path: Path, what: str) -> Storage:
    return Storage(
        f"The file {path} {what}. It was left as it is: put back a copy of it, or name another place for the "
        "notebook."
    )


def _check_version(versions: list[str], place: str) -> None:
    if versions and versions[0] > schema.NEWEST:
        raise Storage(
            f"{place} was written by a newer version of this program. It was left as it is: install the "
            "newer version, or name another place for the notebook."
        )


def _migrate(engine: Engine) -> None:
    with engine.connect() as connection:
        if _versions(connection) == [schema.NEWEST]:
            return
    with engine.connect().execution_options(**{_WRITES: True}) as connection, connection.begin():
        if engine.dialect.name == "postgresql":
            connection.execute(sa.text("SELECT pg_advisory_xact_lock(:n)"), {"n": _LOCK_NUMBER})
        versions = _versions(connection)
        _check_version(versions, "The database")
        if versions != [schema.NEWEST]:
            _upgrade(connection)


def _versions(connection: Connection) -> list[str]:
    if not sa.inspect(connection).has_table("alembic_version"):
        return []
    return list(connection.execute(sa.text("SELECT version_num FROM alembic_version")).scalars())


def _upgrade(connection: Connection) -> None:
    from alembic import command
    from alembic.config import Config

    config = Config(attributes={"connection": connection})
    config.set_main_option("script_location", str(Path(__file__).parent / "migrations").replace("%", "%%"))
    command.upgrade(config, "head")


@contextmanager
def _storage_errors(place: str) -> Iterator[None]:
    """Turn what a database says into what a maker can do about it."""
    try:
        yield
    except exc.TimeoutError:
        raise Busy("Too many others are at the notebook.") from None
    except (exc.DBAPIError, sqlite3.Error) as error:
        raise _failure(str(getattr(error, "orig", error)).casefold(), place) from error
    except OSError as error:
        raise Storage(
            f"The notebook {place} cannot be written: {error.strerror}. Name a place that can be, in "
            "DOUGH_NOTEBOOK."
        ) from error


def _failure(told: str, place: str) -> Storage | Busy:
    if "locked" in told or "deadlock" in told or "serialize" in told:
        return Busy("Somebody else is writing in the notebook.")
    if "full" in told or "no space" in told:
        return Storage(
            f"There is no room left for the notebook {place}: make room on its disk and try again."
        )
    if "readonly" in told or "read-only" in told or "unable to open" in told or "permission" in told:
        return Storage(
            f"The notebook {place} cannot be written: allow this program to write there, or name another "
            "place in DOUGH_NOTEBOOK."
        )
    if "malformed" in told or "not a database" in told:
        return Storage(f"The notebook {place} is damaged. It was left as it is: put back a copy of it.")
    return Storage(
        f"The database of the notebook {place} does not answer as it should; see the server's log."
    )
