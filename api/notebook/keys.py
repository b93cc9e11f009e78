"""The keys that tell shops apart; only their SHA-256 is kept."""

import hashlib
import secrets
from dataclasses import dataclass

import sqlalchemy as sa
from sqlalchemy.engine import Connection

from api.http.errors import NotFound
from api.notebook import schema

LINK_SECONDS = 600
_BYTES = 32
_keys, _links = schema.keys, schema.links


@dataclass(frozen=True, slots=True)
class NewKey:
    """A key as it is shown, once."""

    id: str
    key: str
    shop: str
    label: str


def new_shop(connection: Connection, name: str) -> str:
    """Make a shop with an empty notebook and return its id."""
    shop = secrets.token_hex(8)
    connection.execute(sa.insert(schema.shops).values(id=shop, name=name, changes=0))
    return shop


def new_key(connection: Connection, shop: str, label: str, now: int) -> NewKey:
    """Make a key of 256 random bits for a shop.

    Raises
    ------
    NotFound
        There is no such shop.
    """
    known = sa.select(schema.shops.c.id).where(schema.shops.c.id == shop)
    if connection.execute(known).first() is None:
        raise NotFound("There is no such shop.")
    made = NewKey(secrets.token_hex(8), secrets.token_urlsafe(_BYTES), shop, label)
    connection.execute(
        sa.insert(_keys).values(id=made.id, shop=shop, digest=_digest(made.key), label=label, made_at=now)
    )
    return made


def revoke(connection: Connection, shop: str, name: str, now: int) -> str:
    """Make a key worthless and return its label.

    Raises
    ------
    NotFound
        The shop has no valid key of this id.
    """
    mine = sa.and_(_keys.c.shop == shop, _keys.c.id == name, _keys.c.revoked_at.is_(None))
    label = connection.execute(sa.select(_keys.c.label).where(mine)).scalar_one_or_none()
    if label is None:
        raise NotFound("There is no valid key of this id.")
    connection.execute(sa.update(_keys).where(mine).values(revoked_at=now))
    return str(label)


def rotate(connection: Connection, shop: str, name: str, now: int) -> NewKey:
    """Put a new key in the place of another, which is worthless from then on.

    Raises
    ------
    NotFound
    """
    return new_key(connection, shop, revoke(connection, shop, name, now), now)


def listed(connection: Connection, shop: str) -> list[dict[str, object]]:
    """Return id, label and times [s since 1970] of a shop's keys, the oldest first; never the keys."""
    columns = (_keys.c.id, _keys.c.label, _keys.c.made_at, _keys.c.revoked_at)
    rows = connection.execute(sa.select(*columns).where(_keys.c.shop == shop))
    return sorted((dict(row._mapping) for row in rows), key=lambda row: (row["made_at"], row["id"]))


def any_made(connection: Connection) -> bool:
    """Tell whether a key was ever made, so that shops are told apart by keys."""
    return connection.execute(sa.select(_keys.c.id).limit(1)).first() is not None


def shop_of(connection: Connection, key: str) -> str | None:
    """Return the shop a valid key belongs to."""
    found = sa.select(_keys.c.shop).where(_keys.c.digest == _digest(key), _keys.c.revoked_at.is_(None))
    shop: str | None = connection.execute(found).scalar_one_or_none()
    return shop


def new_link(connection: Connection, shop: str, now: int) -> str:
    """Return a code that can be changed for a key once, within ten minutes."""
    code = secrets.token_urlsafe(_BYTES)
    connection.execute(
        sa.insert(_links).values(digest=_digest(code), shop=shop, expires_at=now + LINK_SECONDS)
    )
    return code


def use_link(connection: Connection, code: str, label: str, now: int) -> NewKey | None:
    """Return a new key for a code; None where it was used, is too old or never was."""
    mine = _links.c.digest == _digest(code)
    row = connection.execute(sa.select(_links.c.shop, _links.c.expires_at).where(mine)).one_or_none()
    taken = connection.execute(sa.delete(_links).where(mine)).rowcount
    connection.execute(sa.delete(_links).where(_links.c.expires_at <= now))
    if row is None or taken != 1 or row.expires_at <= now:
        return None
    return new_key(connection, row.shop, label, now)


def _digest(secret: str) -> str:
    return hashlib.sha256(secret.encode("utf-8", "replace")).hexdigest()
