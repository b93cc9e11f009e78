"""The notebook as a file of SQLite: how it is begun and opened, and copies that are whole or not there."""

import os
import shutil
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any

import sqlalchemy as sa
from sqlalchemy import event
from sqlalchemy.engine import URL, Connection, Engine

from api.notebook import schema
from api.notebook.errors import Storage
from api.notebook.folding import Folding

BUSY_SECONDS = 5.0
WRITES = "notebook_writes"
LEFTOVERS = ("-wal", "-shm", "-journal")
_FOLD_SECONDS = 0.1
_LEFT = "It was left as it is: put back a copy of it, or name another place for the notebook."
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
    connected = sqlite3.connect(f"{file.absolute().as_uri()}?mode=ro", uri=True, timeout=BUSY_SECONDS)
    with closing(connected) as opened:
        yield opened


def _synced(path: Path) -> None:
    """Make sure that a file, or the names in a folder, are on the disk."""
    opened = os.open(path, os.O_RDONLY)
    try:
        os.fsync(opened)
    finally:
        os.close(opened)


class NotebookFile:
    """A notebook in one file of SQLite.

    Parameters
    ----------
    path : Path
    pages_at_most : int, optional
        Largest size of the file in pages of 4096 bytes.
    """

    def __init__(self, path: Path, pages_at_most: int | None) -> None:
        self.path = path
        self._pages_at_most = pages_at_most
        self._opened: tuple[int, int] | None = None
        self._folding = Folding(self._folded)

    @property
    def exists(self) -> bool:
        """Whether a notebook was ever begun here; one that was opened is never taken for a new one."""
        return self._opened is not None or self.path.exists()

    def begin(self, fill: Callable[[Engine], None]) -> None:
        """Make the file: with all its tables, or not at all.

        Raises
        ------
        Storage
            The notebook is missing, but not what belongs to it.
        """
        self.refuse_leftovers()
        self.path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        new = self.path.with_name(f"{self.path.name}.{os.getpid()}-{id(self):x}.new")
        os.close(os.open(new, os.O_RDWR | os.O_CREAT | os.O_TRUNC, 0o600))
        try:
            engine = self._engine(new)
            try:
                fill(engine)
            finally:
                engine.dispose()
            name_too(new, self.path)
        except FileExistsError:
            return
        finally:
            for left in ("", *LEFTOVERS):
                Path(f"{new}{left}").unlink(missing_ok=True)

    def refuse_leftovers(self) -> None:
        """Refuse to begin beside the write-ahead file of a notebook that is no longer here.

        Raises
        ------
        Storage
        """
        left = Path(f"{self.path}-wal")
        if left.exists() and left.stat().st_size:
            raise Storage(
                f"The notebook {self.path} is missing, but its write-ahead file {left.name} is here: put the "
                "notebook back beside it, or move both away."
            )

    def engine(self) -> Engine:
        """Return what reads and writes the file.

        Raises
        ------
        Storage
            It is damaged, newer than this program, or no notebook.
        """
        identity = self._identity()
        check_file(self.path, _LEFT)
        self._opened = identity
        return self._engine(self.path)

    def hold(self) -> None:
        """Make sure that the file is still the one that was opened.

        Raises
        ------
        Storage
            It was moved, erased, or another was put in its place.
        """
        if self._opened is not None and self._identity() != self._opened:
            raise Storage(
                f"The file {self.path} is no longer the one this server opened: it was moved, or another was "
                "put in its place. Put it back; to use another, stop the server, then dough-advisor restore."
            )

    def copy_to(self, target: Path) -> None:
        """Copy one state of the notebook into a new file."""
        self.hold()
        copy_file(self.path, target)

    def keep_before(self, version: str) -> None:
        """Keep a copy as it is, before its tables are brought to a newer version."""
        copy_file(self.path, self.path.with_name(f"{self.path.name}.before-{version}"))

    def written(self) -> None:
        """Note that something was written."""
        self._folding.written()

    def close(self) -> None:
        """Fold in what was written ahead."""
        self._folding.close()

    def _identity(self) -> tuple[int, int] | None:
        try:
            found = self.path.stat()
        except FileNotFoundError:
            return None
        return found.st_dev, found.st_ino

    def _folded(self) -> bool:
        """Fold the write-ahead file in, and tell whether that could be done; it waits for nobody."""
        if self._identity() != self._opened:
            return True
        try:
            with closing(sqlite3.connect(self.path, timeout=_FOLD_SECONDS)) as opened:
                return not opened.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()[0]
        except sqlite3.Error:
            return False

    def _engine(self, path: Path) -> Engine:
        engine = sa.create_engine(URL.create("sqlite", database=str(path)), pool_timeout=BUSY_SECONDS)
        event.listen(engine, "connect", self._set_up)
        event.listen(engine, "begin", _begin)
        return engine

    def _set_up(self, connection: Any, _: Any) -> None:
        connection.isolation_level = None
        settings = [
            f"busy_timeout={BUSY_SECONDS * 1000:.0f}",
            "journal_mode=WAL",
            "synchronous=FULL",
            "foreign_keys=ON",
        ]
        if self._pages_at_most is not None:
            settings.append(f"max_page_count={self._pages_at_most}")
        for setting in settings:
            connection.execute(f"PRAGMA {setting}")


def _begin(connection: Connection) -> None:
    patience = connection.get_execution_options().get(WRITES)
    waits = BUSY_SECONDS if patience is None else patience
    connection.exec_driver_sql(f"PRAGMA busy_timeout={waits * 1000:.0f}")
    connection.exec_driver_sql("BEGIN" if patience is None else "BEGIN IMMEDIATE")


def name_too(old: Path, name: Path) -> None:
    """Give a file one more name; where a disk cannot, copy it.

    Raises
    ------
    FileExistsError
        Something has that name.
    """
    try:
        os.link(old, name)
    except FileExistsError:
        raise
    except OSError:
        with name.open("xb") as file, old.open("rb") as source:
            shutil.copyfileobj(source, file)
            file.flush()
            os.fsync(file.fileno())


def check_file(path: Path, advice: str) -> None:
    """Refuse a file that is damaged, newer, empty or no notebook, without changing it.

    Raises
    ------
    Storage
    """
    try:
        with reading(path) as found:
            names = {name for (name,) in found.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
            sound = found.execute("PRAGMA quick_check(1)").fetchone()[0] == "ok"
            asked = "SELECT version_num FROM alembic_version"
            versions = [one for (one,) in found.execute(asked)] if "alembic_version" in names else []
    except sqlite3.DatabaseError as error:
        if isinstance(error, sqlite3.OperationalError) and "malformed" not in str(error):
            raise
        what = "is no notebook of this program" if "not a database" in str(error) else "is damaged"
        raise Storage(f"The file {path} {what}. {advice}") from None
    if not sound:
        raise Storage(f"The file {path} is damaged. {advice}")
    if not names:
        raise Storage(
            f"The file {path} holds no tables, like one that was copied while it was being written. {advice}"
        )
    if not versions:
        raise Storage(f"The file {path} is no notebook of this program. {advice}")
    check_version(versions, f"The file {path}")


def check_version(versions: list[str], place: str) -> None:
    """Refuse a notebook that a newer program has written.

    Raises
    ------
    Storage
    """
    if versions and versions[0] > schema.NEWEST:
        raise Storage(
            f"{place} was written by a newer version of this program. It was left as it is: install the "
            "newer version, or name another place for the notebook."
        )
