"""A notebook on a server of PostgreSQL."""

from pathlib import Path

import sqlalchemy as sa
from sqlalchemy.engine import URL, Engine

from api.notebook.copying import copy_tables
from api.notebook.file import BUSY_SECONDS


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
