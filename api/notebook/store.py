"""Where a notebook is kept, a file or a server: opened, brought up to date, read and written.

SQLite writes one at a time (``BEGIN IMMEDIATE``), ahead of its file and through to the disk before it
answers; PostgreSQL holds the row of the shop.
"""

import threading
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path

import sqlalchemy as sa
from sqlalchemy import exc
from sqlalchemy.engine import URL, Connection, Engine, make_url
from sqlalchemy.pool import StaticPool

from api.notebook import schema
from api.notebook.errors import Storage
from api.notebook.failures import storage_errors
from api.notebook.file import BUSY_SECONDS, WRITES, NotebookFile, check_version, copy_tables
from api.notebook.place import place_of
from api.settings import Settings


class NotebookServer:
    """A notebook in a database of PostgreSQL, which itself sees to its files and to what is written ahead."""

    exists = True

    def __init__(self, url: URL) -> None:
        self._url = url

    def engine(self) -> Engine:
        """Return what reads and writes the database."""
        return sa.create_engine(self._url, pool_pre_ping=True, pool_timeout=BUSY_SECONDS)

    def copy_to(self, target: Path) -> None:
        """Copy one state of the notebook into a new file of SQLite."""
        engine = self.engine()
        try:
            with engine.connect().execution_options(isolation_level="REPEATABLE READ") as connection:
                copy_tables(connection, target)
        finally:
            engine.dispose()


_LOCK_NUMBER = schema.APPLICATION
_ONE_UPGRADE = threading.Lock()


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
    ImportError
        What talks to the database is not installed.
    """

    def __init__(self, place: str, *, pages_at_most: int | None = None) -> None:
        self.url = _url(place)
        self.url.get_dialect().import_dbapi()
        self.file: NotebookFile | None = None
        if self.url.get_backend_name() == "sqlite":
            self.file = NotebookFile(Path(self.url.database or "").absolute(), pages_at_most)
        self._engine: Engine | None = None
        self._lock = threading.Lock()

    @property
    def place(self) -> str:
        """Where the notebook is, without a password."""
        return str(self.file.path) if self.file else place_of(self.url.render_as_string())

    @property
    def exists(self) -> bool:
        """Whether anything was ever stored, or may have been."""
        return self.file is None or self.file.exists

    def check(self) -> None:
        """Make sure that what exists can be read; change nothing.

        Raises
        ------
        Storage
            It is damaged, newer than this program, moved, or no notebook.
        """
        with self.reading() as connection:
            connection.execute(sa.select(1))

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """Give a connection that sees one state of the notebook; an empty one where there is none yet.

        Raises
        ------
        Storage, Busy
        """
        with storage_errors(self.place), ExitStack() as afterwards:
            if self.file is not None and not self.file.exists:
                self.file.refuse_leftovers()
                engine = _nothing()
                afterwards.callback(engine.dispose)
            else:
                engine = self._opened()
            with engine.connect() as connection:
                yield connection

    @contextmanager
    def writing(self, patience: float = BUSY_SECONDS) -> Iterator[Connection]:
        """Give a connection whose changes are all kept at the end, or none; makes the notebook if need be.

        Parameters
        ----------
        patience : float, optional
            For how long to wait in a file for whoever writes in it [s].

        Raises
        ------
        Storage, Busy
        """
        with storage_errors(self.place):
            self._begun()
            connected = self._opened().connect().execution_options(**{WRITES: patience})
            with connected as connection, connection.begin():
                yield connection
            if self.file is not None:
                self.file.hold()
                self.file.written()

    def copy_to(self, target: Path) -> None:
        """Copy one state of the notebook, whoever writes in it meanwhile, into a new file of SQLite.

        Where there is none yet, the copy is an empty notebook, as whatever else is read there.

        Raises
        ------
        Storage, Busy
        """
        if not self.exists:
            with self.reading() as connection:
                copy_tables(connection, target)
            return
        with storage_errors(self.place):
            self._opened()
            (self.file or NotebookServer(self.url)).copy_to(target)

    def close(self) -> None:
        """Let go of every connection."""
        with self._lock:
            if self._engine is not None:
                self._engine.dispose()
                self._engine = None
                if self.file is not None:
                    self.file.close()

    def _begun(self) -> None:
        with self._lock:
            if self.file is not None and not self.file.exists:
                self.file.begin(_migrate)

    def _opened(self) -> Engine:
        with self._lock:
            if self.file is not None:
                self.file.hold()
            if self._engine is None:
                engine = (self.file or NotebookServer(self.url)).engine()
                try:
                    self._bring_up(engine)
                except BaseException:
                    engine.dispose()
                    raise
                self._engine = engine
            return self._engine

    def _bring_up(self, engine: Engine) -> None:
        """Bring the tables to what this program knows; a file is copied before it is changed."""
        with engine.connect() as connection:
            versions = _versions(connection)
        if versions == [schema.NEWEST]:
            return
        if versions and self.file is not None:
            self.file.keep_before(schema.NEWEST)
        _migrate(engine)


@contextmanager
def opened(settings: Settings) -> Iterator[Store]:
    """Give the store of some settings, closed afterwards.

    Raises
    ------
    Storage
    """
    store = Store(settings.notebook, pages_at_most=settings.notebook_pages_at_most)
    try:
        yield store
    finally:
        store.close()


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


def _nothing() -> Engine:
    """Return an empty notebook in memory."""
    engine = sa.create_engine("sqlite://", poolclass=StaticPool, connect_args={"check_same_thread": False})
    schema.metadata.create_all(engine)
    return engine


def _migrate(engine: Engine) -> None:
    with engine.connect().execution_options(**{WRITES: BUSY_SECONDS}) as connection, connection.begin():
        if engine.dialect.name == "postgresql":
            connection.execute(sa.text("SELECT pg_advisory_xact_lock(:n)"), {"n": _LOCK_NUMBER})
        versions = _versions(connection)
        check_version(versions, "The database")
        if versions != [schema.NEWEST]:
            _upgrade(connection)


def _versions(connection: Connection) -> list[str]:
    if not sa.inspect(connection).has_table("alembic_version"):
        return []
    return list(connection.execute(sa.text("SELECT version_num FROM alembic_version")).scalars())


def _upgrade(connection: Connection) -> None:
    """Run the migrations, one at a time in this process: Alembic keeps what it works on in globals."""
    from alembic import command
    from alembic.config import Config

    config = Config(attributes={"connection": connection})
    config.set_main_option("script_location", str(Path(__file__).parent / "migrations").replace("%", "%%"))
    with _ONE_UPGRADE:
        command.upgrade(config, "head")
