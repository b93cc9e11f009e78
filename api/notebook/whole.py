"""Takes a whole notebook out, puts one in, and erases it."""

from collections.abc import Mapping, Sequence

import sqlalchemy as sa
from sqlalchemy.engine import Connection

from advisor.schema.lot import LotRow
from advisor.schema.notebook import StoredNotebook
from api.notebook import doughs, schema
from api.notebook.named import LOTS, MATERIALS, NAMED, UPTAKE_TESTS


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
    }
    lists = "".join(f'"{name}":[{",".join(rows)}],' for name, rows in parts.items())
    return f'{{"format":1,{lists}"rules_version":"{rules_version}"}}'


def _lot(name: Sequence[str], body: str) -> str:
    material, lot = name
    whole = LotRow.model_validate_json(
        body[:-1] + ("," if body != "{}" else "") + '"material":"x","lot":"x"}'
    )
    return whole.model_copy(update={"material": material, "lot": lot}).model_dump_json(exclude_none=True)


def is_empty(connection: Connection, shop: str) -> bool:
    """Tell whether a shop keeps nothing."""
    tables = (*(kind.table for kind in NAMED), schema.doughs)
    return not any(
        connection.execute(sa.select(sa.literal(1)).where(table.c.shop == shop).limit(1)).first()
        for table in tables
    )


def put_in(connection: Connection, shop: str, notebook: StoredNotebook) -> Mapping[str, int]:
    """Keep a whole notebook in place of what there was, and return how many rows of each kind it has."""
    erase(connection, shop)
    for material in notebook.materials:
        MATERIALS.add(connection, shop, (material.key,), material.model_dump_json(exclude_none=True))
    for row in notebook.lots:
        body = row.model_dump_json(exclude={"material", "lot"}, exclude_none=True)
        LOTS.add(connection, shop, (row.material, row.lot), body)
    for test in notebook.uptake_tests:
        UPTAKE_TESTS.add(connection, shop, (test.material,), test.model_dump_json(exclude_none=True))
    for dough in notebook.doughs:
        doughs.insert(connection, shop, dough, dough.id or doughs.new_id())
    return {
        "materials": len(notebook.materials),
        "lots": len(notebook.lots),
        "uptake_tests": len(notebook.uptake_tests),
        "doughs": len(notebook.doughs),
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
    for table in (*(kind.table for kind in NAMED), schema.doughs, schema.answered):
        connection.execute(sa.delete(table).where(table.c.shop == shop))
