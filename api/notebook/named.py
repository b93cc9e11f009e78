"""Keeps what is found by a name of its own: materials, lots, bench tests, versions of recipes."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import sqlalchemy as sa
from sqlalchemy.engine import Connection

from api.http.errors import existing
from api.notebook import schema
from api.notebook.precondition import Precondition


@dataclass(frozen=True)
class NamedThings:
    """Things of one kind, each kept as the JSON text it is answered with."""

    table: sa.Table
    names: tuple[str, ...]

    def find(self, connection: Connection, shop: str, name: Sequence[str | int]) -> str | None:
        """Return what is kept under a name, or None."""
        found: str | None = connection.execute(
            sa.select(self.table.c.body).where(self._is(shop, name))
        ).scalar_one_or_none()
        return found

    def get(self, connection: Connection, shop: str, name: Sequence[str]) -> str:
        """Return what is kept under a name.

        Raises
        ------
        NotFound
        """
        return existing(self.find(connection, shop, name), "The notebook keeps nothing under this name.")

    def put(
        self, connection: Connection, shop: str, name: Sequence[str], body: str, condition: Precondition
    ) -> bool:
        """Keep a thing and tell whether it is new.

        Raises
        ------
        Stale, IfMatchNeeded
        """
        current = self.find(connection, shop, name)
        condition.hold(current)
        (self.add if current is None else self.change)(connection, shop, name, body)
        return current is None

    def change(self, connection: Connection, shop: str, name: Sequence[str], body: str) -> None:
        """Keep a thing in place of the one there is."""
        connection.execute(sa.update(self.table).where(self._is(shop, name)).values(body=body))

    def add(self, connection: Connection, shop: str, name: Sequence[str | int], body: str) -> None:
        """Keep a thing that is known to be new."""
        row = dict(zip(self.names, name, strict=True))
        connection.execute(sa.insert(self.table).values(shop=shop, body=body, **row))

    def remove(self, connection: Connection, shop: str, name: Sequence[str], condition: Precondition) -> None:
        """Forget a thing.

        Raises
        ------
        NotFound, Stale, IfMatchNeeded
        """
        condition.hold(self.get(connection, shop, name))
        connection.execute(sa.delete(self.table).where(self._is(shop, name)))

    def items(
        self, connection: Connection, shop: str, under: Sequence[str] = ()
    ) -> list[tuple[tuple[Any, ...], str]]:
        """Return names and bodies, sorted by name, of all or of those whose name begins with ``under``."""
        columns = [self.table.c[name] for name in self.names]
        where = [self.table.c.shop == shop, *(c == part for c, part in zip(columns, under, strict=False))]
        rows = connection.execute(sa.select(*columns, self.table.c.body).where(*where))
        return sorted((tuple(row[:-1]), row[-1]) for row in rows)

    def _is(self, shop: str, name: Sequence[str | int]) -> sa.ColumnElement[bool]:
        pairs = zip(self.names, name, strict=True)
        return sa.and_(self.table.c.shop == shop, *(self.table.c[column] == part for column, part in pairs))


MATERIALS = NamedThings(schema.materials, ("key",))
LOTS = NamedThings(schema.lots, ("material", "lot"))
UPTAKE_TESTS = NamedThings(schema.uptake_tests, ("material",))
RECIPES = NamedThings(schema.recipes, ("key", "version"))
NAMED = (MATERIALS, LOTS, UPTAKE_TESTS)


def changed(connection: Connection, shop: str) -> None:
    """Note that a shop's notebook changes; whoever else changes it waits until this is done."""
    connection.execute(
        sa.update(schema.shops).where(schema.shops.c.id == shop).values(changes=schema.shops.c.changes + 1)
    )


def changes(connection: Connection, shop: str) -> int:
    """Return how often a shop's notebook has changed."""
    found = connection.execute(sa.select(schema.shops.c.changes).where(schema.shops.c.id == shop))
    return int(found.scalar_one_or_none() or 0)
