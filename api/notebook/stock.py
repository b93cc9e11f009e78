"""What lots hold: less when a dough of them is kept, as much again when it is forgotten."""

import datetime
import json
from collections.abc import Sequence

import sqlalchemy as sa
from sqlalchemy.engine import Connection

from advisor.recipe.history import used_grams
from advisor.recipe.notebook import Notebook
from advisor.schema.lot import Lot, Stocked
from advisor.schema.notebook import StoredDough
from api.http.answering import text_of
from api.notebook import schema
from api.notebook.named import LOTS

_DECIMALS = 4
_used = schema.dough_lots


def take(connection: Connection, shop: str, place: int, dough: StoredDough) -> None:
    """Let the lots of a dough fall by what it took; none falls below nothing, and what fell is noted."""
    used = used_grams(dough)
    for material, lot, _ in _lots_of(connection, place):
        held = _held(connection, shop, (material, lot))
        if held is not None and held.stock_grams is not None:
            taken = round(min(held.stock_grams, used.get(material, 0.0)), _DECIMALS)
            _let(connection, shop, (material, lot), held, held.stock_grams - taken)
            note_taken(connection, place, material, taken)


def give_back(connection: Connection, shop: str, place: int) -> None:
    """Let the lots of a dough hold again what it took of them."""
    for material, lot, taken in _lots_of(connection, place):
        held = _held(connection, shop, (material, lot))
        if taken and held is not None and held.stock_grams is not None:
            _let(connection, shop, (material, lot), held, held.stock_grams + taken)


def note_taken(connection: Connection, place: int, material: str, grams: float) -> None:
    """Note what a dough took of the lot of a material [g]."""
    of = sa.and_(_used.c.dough == place, _used.c.material == material)
    connection.execute(sa.update(_used).where(of).values(taken_grams=grams))


def counted(connection: Connection, shop: str, name: Sequence[str], body: str | None) -> None:
    """Let earlier doughs give nothing back to a lot whose stock was counted anew, or that is forgotten."""
    held = _held(connection, shop, name)
    now = None if body is None else Lot.model_validate_json(body)
    if held is not None and now is not None and held.stock_grams == now.stock_grams:
        return
    doughs = sa.select(schema.doughs.c.place).where(schema.doughs.c.shop == shop)
    of = sa.and_(_used.c.material == name[0], _used.c.lot == name[1], _used.c.dough.in_(doughs))
    connection.execute(sa.update(_used).where(of).values(taken_grams=0.0))


def stocked(connection: Connection, shop: str, today: datetime.date, known: Notebook) -> list[Stocked]:
    """Return what each lot holds, by material and name, and what doughs of days to come took of it."""
    planned, found = _planned(connection, shop, today), []
    for (key, lot), body in LOTS.items(connection, shop):
        held, material = Lot.model_validate_json(body), known.get(key)
        reserved = planned.get((key, lot), 0.0)
        one = Stocked(
            material=key,
            name=key if material is None else material.material.name,
            lot=lot,
            on_hand=None if held.stock_grams is None else round(held.stock_grams + reserved, _DECIMALS),
            reserved=reserved,
            received=held.received,
            expires=held.expires,
        )
        found.append(one)
    return found


def _planned(connection: Connection, shop: str, today: datetime.date) -> dict[tuple[str, str], float]:
    doughs = schema.doughs
    rows = connection.execute(
        sa.select(_used.c.material, _used.c.lot, _used.c.taken_grams, doughs.c.body)
        .join(doughs, doughs.c.place == _used.c.dough)
        .where(doughs.c.shop == shop, _used.c.taken_grams > 0, doughs.c.body.contains('"made_on"'))
    )
    found: dict[tuple[str, str], float] = {}
    for material, lot, taken, body in rows:
        if json.loads(body).get("made_on", "") > today.isoformat():
            found[material, lot] = round(found.get((material, lot), 0.0) + taken, _DECIMALS)
    return found


def _held(connection: Connection, shop: str, name: Sequence[str]) -> Lot | None:
    body = LOTS.find(connection, shop, name)
    return None if body is None else Lot.model_validate_json(body)


def _let(connection: Connection, shop: str, name: Sequence[str], lot: Lot, grams: float) -> None:
    body = text_of(lot.model_copy(update={"stock_grams": round(grams, _DECIMALS)}))
    LOTS.change(connection, shop, name, body)


def _lots_of(connection: Connection, place: int) -> list[tuple[str, str, float]]:
    rows = connection.execute(
        sa.select(_used.c.material, _used.c.lot, _used.c.taken_grams).where(_used.c.dough == place)
    )
    return [(material, lot, taken) for material, lot, taken in rows]
