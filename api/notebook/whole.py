"""Takes a whole notebook out, puts one in, and erases it."""

from collections.abc import Mapping, Sequence

import sqlalchemy as sa
from sqlalchemy.engine import Connection

from advisor.schema.lot import LotRow
from advisor.schema.notebook import StoredNotebook
from api.http.answering import text_of
from api.notebook import doughs, schema, stock
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


def put_in(connection: Connection, shop: str, notebook: StoredNotebook) -> Mapping[str, int]:
    """Keep a whole notebook in place of what there was, and return how many rows of each kind there are.

    Recipes stay where the notebook is of the first format, which knows none.
    """
    _empty(connection, shop, _TABLES if notebook.format > 1 else _FIRST)
    for material in notebook.materials:
        MATERIALS.add(connection, shop, (material.key,), text_of(material))
    for row in notebook.lots:
        body = row.model_dump_json(exclude={"material", "lot"}, exclude_none=True)
        LOTS.add(connection, shop, (row.material, row.lot), body)
    for test in notebook.uptake_tests:
        UPTAKE_TESTS.add(connection, shop, (test.material,), text_of(test))
    for version in notebook.recipes:
        RECIPES.add(connection, shop, (version.key, version.version), text_of(version))
    places = {}
    for dough in notebook.doughs:
        kept = doughs.insert(connection, shop, dough, dough.id or doughs.new_id())
        places[kept.id] = kept.place
    for one in notebook.taken:
        stock.note_taken(connection, places[one.dough], one.material, one.grams)
    return {
        table.name: connection.execute(
            sa.select(sa.func.count()).select_from(table).where(table.c.shop == shop)
        ).scalar_one()
        for table in _TABLES
    }


def replaced(connection: Connection, shop: str) -> StoredNotebook | None:
    """Return the notebook that the present one took the place of, None where there was none."""
    kept = sa.select(schema.replaced.c.body).where(schema.replaced.c.shop == shop)
    body = connection.execute(kept).scalar_one_or_none()
    return None if body is None else StoredNotebook.model_validate_json(body)


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
