"""Writes the whole notebook, of all shops and with their keys, into one file, and puts such a file back."""

import os
import sqlite3
import tempfile
from collections.abc import Iterator, Mapping
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path

import sqlalchemy as sa

from api.http.errors import Busy
from api.notebook import schema
from api.notebook.errors import FileRefused
from api.notebook.failures import storage_errors
from api.notebook.file import LEFTOVERS, check_file, copy_file, copy_rows, is_sound, name_too, rows_of
from api.notebook.store import NotebookServer, Store, opened
from api.settings import Settings

_RUNNING = "A server has the notebook open: stop it, then restore."
_UNTOUCHED = "Nothing was restored: name a file that dough-advisor backup wrote."

_LOCKED = (510, 2**30 + 2)
_OTHERS = sa.text(
    "SELECT count(*) FROM pg_stat_activity WHERE datname = current_database() "
    "AND pid <> pg_backend_pid() AND backend_type = 'client backend'"
)
_NEXT_PLACE = sa.text(
    "SELECT setval(pg_get_serial_sequence('doughs', 'place'), (SELECT coalesce(max(place), 1) FROM doughs))"
)


@dataclass(frozen=True, slots=True)
class Backup:
    """What a backup holds: rows by table, size [bytes]."""

    rows: Mapping[str, int]
    size: int


@dataclass(frozen=True, slots=True)
class Restored:
    """What was put back, or would be, and under which names what stood there before is kept."""

    backup: Backup
    place: str
    kept: tuple[Path, ...]


def back_up(settings: Settings, target: Path) -> Backup:
    """Write one state of the notebook into a new file, whoever writes in it meanwhile.

    Raises
    ------
    FileRefused
        There is a file of that name already, or nothing was ever stored.
    Storage, Busy
    """
    if target.exists():
        raise FileRefused(f"There is a file {target} already; it was left as it is. Name another one.")
    with opened(settings) as store:
        if not store.exists:
            raise FileRefused(f"There is no notebook at {store.place} yet, so there is nothing to back up.")
        store.copy_to(target)
    return _described(target)


def restore(settings: Settings, source: Path, *, dry_run: bool = False) -> Restored:
    """Put a backup in the place of the notebook; what stood there is kept beside it.

    Parameters
    ----------
    settings : Settings
    source : Path
        A file ``back_up`` wrote.
    dry_run : bool
        Look at everything, change nothing.

    Raises
    ------
    FileRefused
        There is no such file.
    Storage
        The source is damaged, newer than this program, empty, or no notebook.
    Busy
        A server has the notebook open.
    """
    if not source.is_file():
        raise FileRefused(f"There is no file {source}. {_UNTOUCHED}")
    check_file(source, _UNTOUCHED)
    backup, store = _described(source), Store(settings.notebook)
    with storage_errors(store.place):
        if store.file is None:
            kept = _into_server(store, source, dry_run=dry_run)
        else:
            kept = _into_file(store.file.path, source, dry_run=dry_run)
    return Restored(backup, store.place, kept)


def _described(file: Path) -> Backup:
    return Backup(rows_of(file), file.stat().st_size)


def _into_file(path: Path, source: Path, *, dry_run: bool) -> tuple[Path, ...]:
    if path.exists():
        _fold_alone(path)
    present = [Path(f"{path}{end}") for end in ("", *LEFTOVERS) if Path(f"{path}{end}").exists()]
    moves = {one: _free(f"{one}.before-restore") for one in present}
    if dry_run:
        return tuple(moves.values())
    path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
    new = path.with_name(f"{path.name}.{os.getpid()}.restoring")
    copy_file(source, new)
    for old, aside in moves.items():
        if old == path:
            name_too(old, aside)
        else:
            old.replace(aside)
    new.replace(path)
    return tuple(moves.values())


def _fold_alone(path: Path) -> None:
    """Fold what was written ahead into a file nobody else has open; one that is damaged stays as it is.

    Whoever closes the file last, without having it for himself, takes the write-ahead files away.

    Raises
    ------
    Busy
        Somebody has it open.
    """
    try:
        if not is_sound(path):
            raise sqlite3.DatabaseError("damaged")
        with closing(sqlite3.connect(path, timeout=0.5, isolation_level=None)) as alone:
            alone.execute("PRAGMA locking_mode=EXCLUSIVE")
            alone.execute("BEGIN EXCLUSIVE")
            alone.execute("COMMIT")
            alone.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        with closing(sqlite3.connect(path)) as last:
            last.execute("PRAGMA schema_version")
    except sqlite3.OperationalError as error:
        if "locked" in str(error):
            raise Busy(_RUNNING) from None
        raise
    except sqlite3.DatabaseError:
        _refuse_open(path)


def _refuse_open(path: Path) -> None:
    """Refuse a file that somebody has open, by the bytes SQLite locks meanwhile; it need not be readable.

    Raises
    ------
    Busy
        Somebody has it open.
    """
    try:
        import fcntl
    except ImportError:  # on Windows a file that is open cannot be replaced
        return
    with path.open("r+b") as file:
        try:
            fcntl.lockf(file, fcntl.LOCK_EX | fcntl.LOCK_NB, *_LOCKED)
        except OSError:
            raise Busy(_RUNNING) from None


def _free(name: str) -> Path:
    """Return a path nothing lies at: the name itself, or with a number behind it."""
    paths = (Path(name if number == 1 else f"{name}-{number}") for number in range(1, 1_000_000))
    return next(path for path in paths if not path.exists())


def _into_server(store: Store, source: Path, *, dry_run: bool) -> tuple[Path, ...]:
    aside = _free(f"{source.absolute()}.before-restore")
    store.check()
    store.close()
    engine = NotebookServer(store.url).engine()
    try:
        with _newest(source) as newest, newest.reading() as rows, engine.begin() as into:
            if into.execute(_OTHERS).scalar_one():
                raise Busy(_RUNNING)
            if not dry_run:
                into.execute(sa.text("LOCK TABLE shops IN EXCLUSIVE MODE"))
                NotebookServer(store.url).copy_to(aside)
                for table in reversed(schema.metadata.sorted_tables):
                    into.execute(sa.delete(table))
                copy_rows(rows, into)
                into.execute(_NEXT_PLACE)
    finally:
        engine.dispose()
    return (aside,)


@contextmanager
def _newest(source: Path) -> Iterator[Store]:
    """Give a copy of a backup whose tables are those of this program."""
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder) / "copy.sqlite3"
        copy_file(source, copy)
        store = Store(str(copy))
        try:
            yield store
        finally:
            store.close()
