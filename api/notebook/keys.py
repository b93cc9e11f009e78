"""The keys that tell shops apart; only their SHA-256 is kept."""

import hashlib
import secrets
from dataclasses import dataclass
from typing import Any

import sqlalchemy as sa
from sqlalchemy.engine import Connection, RowMapping

from advisor.errors import Fault, InvalidRequest
from api.http.errors import existing
from api.notebook import schema
from api.notebook.callers import NewKey, Role
from api.notebook.errors import Conflict

LINK_SECONDS = 600
_BYTES = 32
_keys, _links = schema.keys, schema.links
_SHOWN = (
    _keys.c.id,
    _keys.c.label,
    _keys.c.role,
    _keys.c.made_at,
    _keys.c.used_at,
    _keys.c.ends_at,
    _keys.c.revoked_at,
)


@dataclass(frozen=True, slots=True)
class Wanted:
    """What a new key is to be: its name, what it may do, and its end [s since 1970] if it has one."""

    label: str
    role: Role = "owner"
    ends_at: int | None = None


def new_shop(connection: Connection, name: str) -> str:
    """Make a shop with an empty notebook and return its id."""
    shop = secrets.token_hex(8)
    connection.execute(sa.insert(schema.shops).values(id=shop, name=name, changes=0))
    return shop


def new_key(connection: Connection, shop: str, wanted: Wanted, now: int) -> NewKey:
    """Make a key of 256 random bits for a shop.

    Raises
    ------
    InvalidRequest
        It ends before it begins, or the shop's first key is to be none of its owner.
    """
    if wanted.ends_at is not None and wanted.ends_at <= now:
        raise InvalidRequest("A key ends later than now.", [Fault("/ends_at", "is over already")])
    if wanted.role != "owner" and not _owners(connection, shop, now):
        raise InvalidRequest(
            "The first key is the owner's: nobody could make or revoke keys without it.",
            [Fault("/role", "is not owner", "make the owner's key first")],
        )
    made = NewKey(
        id=secrets.token_hex(8),
        key=secrets.token_urlsafe(_BYTES),
        shop=shop,
        label=wanted.label,
        role=wanted.role,
        ends_at=wanted.ends_at,
    )
    connection.execute(
        sa.insert(_keys).values(
            id=made.id,
            shop=shop,
            digest=_digest(made.key),
            label=made.label,
            role=made.role,
            ends_at=made.ends_at,
            made_at=now,
        )
    )
    return made


def revoke(connection: Connection, shop: str, name: str, now: int, *, sure: bool = False) -> None:
    """Make a key worthless.

    Raises
    ------
    NotFound
        The shop has no valid key of this id.
    Conflict
        It is the last one of an owner, and nobody said to be sure.
    """
    _valid(connection, shop, name)
    if not sure and _owners(connection, shop, now) == [name]:
        raise Conflict(
            "This is the owner's last key: without it nobody can make keys over the network. Make another "
            "owner's key first, or revoke it on the server's machine with dough-advisor keys revoke "
            f"{name} --i-am-sure. There, dough-advisor keys make NAME lets you in again."
        )
    _end(connection, shop, name, now)


def rotate(connection: Connection, shop: str, name: str, now: int) -> NewKey:
    """Put a new key in the place of another, which is worthless from then on.

    Raises
    ------
    NotFound
    """
    old = _valid(connection, shop, name)
    made = new_key(connection, shop, Wanted(old["label"], old["role"], old["ends_at"]), now)
    _end(connection, shop, name, now)
    return made


def _end(connection: Connection, shop: str, name: str, now: int) -> None:
    mine = sa.and_(_keys.c.shop == shop, _keys.c.id == name)
    connection.execute(sa.update(_keys).where(mine).values(revoked_at=now))


def _valid(connection: Connection, shop: str, name: str) -> RowMapping:
    mine = sa.and_(_keys.c.shop == shop, _keys.c.id == name, _keys.c.revoked_at.is_(None))
    row = connection.execute(sa.select(*_SHOWN).where(mine)).mappings().one_or_none()
    return existing(row, "There is no valid key of this id.")


def _owners(connection: Connection, shop: str, now: int) -> list[str]:
    """Return the ids of the keys that can make and revoke others at this moment."""
    lasts = sa.or_(_keys.c.ends_at.is_(None), _keys.c.ends_at > now)
    mine = sa.and_(_keys.c.shop == shop, _keys.c.role == "owner", _keys.c.revoked_at.is_(None), lasts)
    return list(connection.execute(sa.select(_keys.c.id).where(mine)).scalars())


def listed(connection: Connection, shop: str) -> list[dict[str, object]]:
    """Return id, label, role and times [s since 1970] of a shop's keys, the oldest first; never the keys."""
    rows = connection.execute(sa.select(*_SHOWN).where(_keys.c.shop == shop)).mappings()
    return sorted((dict(row) for row in rows), key=lambda row: (row["made_at"], row["id"]))


def any_made(connection: Connection) -> bool:
    """Tell whether a key was ever made, so that shops are told apart by keys."""
    return connection.execute(sa.select(_keys.c.id).limit(1)).first() is not None


def found(connection: Connection, key: str) -> Any:
    """Return the row of a key, valid or not; None where it was never made."""
    return connection.execute(sa.select(_keys).where(_keys.c.digest == _digest(key))).one_or_none()


def used(connection: Connection, name: str, now: int) -> None:
    """Note that a key is in use."""
    connection.execute(sa.update(_keys).where(_keys.c.id == name).values(used_at=now))


def new_link(connection: Connection, shop: str, now: int) -> str:
    """Return a code that can be changed for a key once, within ten minutes."""
    code = secrets.token_urlsafe(_BYTES)
    connection.execute(
        sa.insert(_links).values(digest=_digest(code), shop=shop, expires_at=now + LINK_SECONDS)
    )
    return code


def link_is_good(connection: Connection, code: str, now: int) -> bool:
    """Tell whether a code can still be changed for a key."""
    good = sa.and_(_links.c.digest == _digest(code), _links.c.expires_at > now)
    return connection.execute(sa.select(_links.c.shop).where(good)).first() is not None


def use_link(connection: Connection, code: str, label: str, now: int) -> NewKey | None:
    """Return a new key for the bench for a code; None where it was used, is too old or never was."""
    mine = _links.c.digest == _digest(code)
    row = connection.execute(sa.select(_links.c.shop, _links.c.expires_at).where(mine)).one_or_none()
    taken = connection.execute(sa.delete(_links).where(mine)).rowcount
    connection.execute(sa.delete(_links).where(_links.c.expires_at <= now))
    if row is None or taken != 1 or row.expires_at <= now:
        return None
    return new_key(connection, row.shop, Wanted(label, "bench"), now)


def _digest(secret: str) -> str:
    return hashlib.sha256(secret.encode("utf-8", "replace")).hexdigest()
