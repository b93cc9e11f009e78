"""Takes a whole notebook out, puts one in, and erases it."""

from collections.abc import Mapping, Sequence

import sqlalchemy as sa
from sqlalchemy.engine import Connection

from advisor.schema.lot import LotRow
from api.http.reading import in_steps
from api.notebook import doughs, schema, stock
from api.notebook.incoming import Incoming
from api.notebook.named import LOTS, MATERIALS, NAMED, RECIPES, UPTAKE_TESTS

_FIRST = (*(kind.table for kind in NAMED), schema.doughs)
_TABLES = (*_FIRST, schema.recipes)


def taken_out(connection: Connection, shop: str, rules_version: str) -> str:
    """Return everything a shop keeps as one JSON text; the same notebook gives the same text."""
    bodies = connection.execute(
        sa.select(schema.doughs.c.body).where(schema.doughs.c.shop == shop).order_by(schema.doughs.c.place)
    ).scalars()
    parts = {
        "materials": [body for _, body in MATERIALS.items(connection, shop)],
        "lots": [_lot(name, body) for name, body in LOTS.items(connection, shop)],
        "uptake_tests": [body for _, body in UPTAKE_TESTS.items(connection, shop)],
        "doughs": list(bodies),
        "recipes": [body for _, body in RECIPES.items(connection, shop)],
        "taken": [one.model_dump_json() for one in doughs.taken(connection, shop)],
    }
    lists = "".join(f'"{name}":[{",".join(rows)}],' for name, rows in parts.items())
    return f'{{"format":2,{lists}"rules_version":"{rules_version}"}}'


def _lot(name: Sequence[str], body: str) -> str:
    material, lot = name
    whole = LotRow.model_validate_json(
        body[:-1] + ("," if body != "{}" else "") + '"material":"x","lot":"x"}'
    )
    return whole.model_copy(update={"material": material, "lot": lot}).model_dump_json(exclude_none=True)


def is_empty(connection: Connection, shop: str) -> bool:
    """Tell whether a shop keeps nothing."""
    return not any(
        connection.execute(sa.select(sa.literal(1)).where(table.c.shop == shop).limit(1)).first()
        for table in _TABLES
    )


def put_in(connection: Connection, shop: str, notebook: Incoming) -> Mapping[str, int]:
    """Keep a whole notebook in place of what there was, and return how many rows of each kind there are.

    Recipes stay where the notebook is of the first format, which knows none.
    """
    _empty(connection, shop, _TABLES if notebook.format > 1 else _FIRST)
    for kind in (*NAMED, RECIPES):
        for row in getattr(notebook, kind.table.name):
            kind.add(connection, shop, row.name, row.body)
    places = {row.name[0]: doughs.insert(connection, shop, row.body).place for row in notebook.doughs}
    for one in notebook.taken:
        stock.note_taken(connection, places[one.name[0]], one.name[1], one.body.grams)
    return {
        table.name: connection.execute(
            sa.select(sa.func.count()).select_from(table).where(table.c.shop == shop)
        ).scalar_one()
        for table in _TABLES
    }


def replaced(connection: Connection, shop: str) -> Incoming | None:
    """Return the notebook that the present one took the place of, None where there was none."""
    kept = sa.select(schema.replaced.c.body).where(schema.replaced.c.shop == shop)
    body = connection.execute(kept).scalar_one_or_none()
    return None if body is None else Incoming.model_validate(in_steps(body))


def keep_replaced(connection: Connection, shop: str, body: str, now: int) -> None:
    """Keep a notebook that another takes the place of, once: the one before it is forgotten."""
    forget_replaced(connection, shop)
    connection.execute(sa.insert(schema.replaced).values(shop=shop, made_at=now, body=body))


def forget_replaced(connection: Connection, shop: str) -> None:
    """Forget the notebook that the present one took the place of."""
    connection.execute(sa.delete(schema.replaced).where(schema.replaced.c.shop == shop))


def erase(connection: Connection, shop: str) -> None:
    """Forget everything a shop keeps; its keys stay."""
    _empty(connection, shop, _TABLES)


def _empty(connection: Connection, shop: str, tables: Sequence[sa.Table]) -> None:
    for table in (*tables, schema.answered):
        connection.execute(sa.delete(table).where(table.c.shop == shop))
