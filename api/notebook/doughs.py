"""Keeps doughs, in the order they were written down, and the lots that went into them."""

from dataclasses import dataclass

import sqlalchemy as sa
from sqlalchemy.engine import Connection

from advisor.schema.notebook import StoredDough, Taken
from api.http.errors import existing
from api.notebook import schema, stock
from api.notebook.errors import Conflict
from api.notebook.precondition import Precondition, Repeatable
from api.notebook.ready import Ready, new_id, ready

_KEPT_SECONDS = 24 * 3600
_doughs = schema.doughs


@dataclass(frozen=True, slots=True)
class Kept:
    """A dough with its place in the notebook."""

    place: int
    id: str
    body: str


def add(connection: Connection, shop: str, dough: StoredDough, repeatable: Repeatable | None = None) -> Kept:
    """Write down a dough, and take it from its lots; one asked for again by its name is not written twice.

    Raises
    ------
    Conflict
        The name was used for another request within 24 hours, or the dough's id is taken.
    """
    if repeatable is not None:
        earlier = _answered(connection, shop, repeatable)
        if earlier is not None:
            return earlier
    name = dough.id or new_id()
    if find(connection, shop, name) is not None:
        raise Conflict("There is a dough with this id.")
    kept = insert(connection, shop, ready(dough, name))
    stock.take(connection, shop, kept.place, dough)
    if repeatable is not None:
        connection.execute(
            sa.insert(schema.answered).values(
                shop=shop,
                key=repeatable.key,
                digest=repeatable.digest,
                address=kept.id,
                made_at=repeatable.now,
                body=kept.body,
            )
        )
    return kept


def insert(connection: Connection, shop: str, dough: Ready) -> Kept:
    """Write down a dough under a name that is free."""
    added = sa.insert(_doughs).values(shop=shop, **dough.columns).returning(_doughs.c.place)
    place = connection.execute(added).scalar_one()
    _set_lots(connection, place, dough)
    return Kept(place, dough.columns["id"], dough.columns["body"])


def _answered(connection: Connection, shop: str, asked: Repeatable) -> Kept | None:
    answered = schema.answered
    connection.execute(sa.delete(answered).where(answered.c.made_at <= asked.now - _KEPT_SECONDS))
    row = connection.execute(
        sa.select(answered.c.digest, answered.c.address, answered.c.body).where(
            answered.c.shop == shop, answered.c.key == asked.key
        )
    ).one_or_none()
    if row is None:
        return None
    if row.digest != asked.digest:
        raise Conflict("This Idempotency-Key was used for another request within the last 24 hours.")
    return Kept(0, row.address, row.body)


def find(connection: Connection, shop: str, name: str) -> Kept | None:
    """Return a dough by its id, or None."""
    row = connection.execute(
        sa.select(_doughs.c.place, _doughs.c.id, _doughs.c.body).where(
            _doughs.c.shop == shop, _doughs.c.id == name
        )
    ).one_or_none()
    return None if row is None else Kept(*row)


def get(connection: Connection, shop: str, name: str) -> Kept:
    """Return a dough by its id.

    Raises
    ------
    NotFound
    """
    return existing(find(connection, shop, name), "The notebook keeps no dough under this id.")


def put(
    connection: Connection, shop: str, name: str, dough: StoredDough, condition: Precondition
) -> tuple[Kept, bool]:
    """Keep a dough under its id and tell whether it is new.

    Raises
    ------
    Stale, IfMatchNeeded
    """
    current = find(connection, shop, name)
    condition.hold(None if current is None else current.body)
    new = ready(dough, name)
    if current is None:
        kept = insert(connection, shop, new)
        stock.take(connection, shop, kept.place, dough)
        return kept, True
    connection.execute(sa.update(_doughs).where(_doughs.c.place == current.place).values(new.columns))
    stock.give_back(connection, shop, current.place)
    connection.execute(sa.delete(schema.dough_lots).where(schema.dough_lots.c.dough == current.place))
    _set_lots(connection, current.place, new)
    stock.take(connection, shop, current.place, dough)
    return Kept(current.place, name, new.columns["body"]), False


def remove(connection: Connection, shop: str, name: str, condition: Precondition) -> None:
    """Forget a dough, which gives its lots back what it took.

    Raises
    ------
    NotFound, Stale, IfMatchNeeded
    """
    current = get(connection, shop, name)
    condition.hold(current.body)
    stock.give_back(connection, shop, current.place)
    connection.execute(sa.delete(_doughs).where(_doughs.c.place == current.place))


def page(
    connection: Connection,
    shop: str,
    limit: int,
    after: int | None = None,
    *,
    newest: bool = False,
    lot: tuple[str, str] | None = None,
) -> tuple[list[Kept], int | None]:
    """Return doughs in order from a place on, and the place to go on from, None at the end.

    ``lot`` (material, lot) keeps only the doughs that lot went into.
    """
    place = _doughs.c.place
    wanted = sa.select(place, _doughs.c.id, _doughs.c.body).where(_doughs.c.shop == shop)
    if after is not None:
        wanted = wanted.where(place < after if newest else place > after)
    if lot is not None:
        used = schema.dough_lots
        wanted = wanted.join(used, used.c.dough == place).where(
            used.c.material == lot[0], used.c.lot == lot[1]
        )
    rows = connection.execute(wanted.order_by(place.desc() if newest else place).limit(limit + 1)).all()
    kept = [Kept(*row) for row in rows[:limit]]
    return kept, kept[-1].place if len(rows) > limit else None


def taken(connection: Connection, shop: str) -> list[Taken]:
    """Return what doughs took of lots, in the order of the doughs."""
    used = schema.dough_lots
    rows = connection.execute(
        sa.select(_doughs.c.id, used.c.material, used.c.lot, used.c.taken_grams)
        .join(used, used.c.dough == _doughs.c.place)
        .where(_doughs.c.shop == shop, used.c.taken_grams > 0)
        .order_by(_doughs.c.place, used.c.material)
    )
    return [Taken(dough=name, material=key, lot=lot, grams=grams) for name, key, lot, grams in rows]


def _set_lots(connection: Connection, place: int, dough: Ready) -> None:
    rows = [{"dough": place, "material": key, "lot": lot} for key, lot in dough.lots.items()]
    if rows:
        connection.execute(sa.insert(schema.dough_lots), rows)
