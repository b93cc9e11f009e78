"""What the command line does with shops and keys, without a server."""

import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeVar

from sqlalchemy.engine import Connection

from api.notebook import keys
from api.notebook.keys import NewKey
from api.notebook.schema import LOCAL
from api.notebook.shelf import changed
from api.notebook.store import Store
from api.settings import Settings

Result = TypeVar("Result")


@dataclass(frozen=True, slots=True)
class Shared:
    """A key for programs, shown once, and the paths of one-time links, one for each device."""

    key: NewKey
    links: tuple[str, ...]


def share(settings: Settings, devices: int = 2, label: str = "shared bench") -> Shared:
    """Open the local shop to other machines: make a key and one-time links that work for ten minutes.

    Parameters
    ----------
    settings : Settings
    devices : int
        How many links; the machine of the server needs one of its own.
    label : str
        What the key is called.

    Raises
    ------
    Storage, Busy
    """
    now = int(time.time())

    def work(connection: Connection) -> Shared:
        made = keys.new_key(connection, LOCAL, label, now)
        codes = [keys.new_link(connection, LOCAL, now) for _ in range(devices)]
        return Shared(made, tuple(f"/join?code={code}" for code in codes))

    return _written(settings, work)


def new_key(settings: Settings, label: str, shop: str = LOCAL) -> NewKey:
    """Make a key for a shop.

    Raises
    ------
    NotFound, Storage, Busy
    """
    return _written(settings, lambda connection: keys.new_key(connection, shop, label, int(time.time())))


def new_shop(settings: Settings, name: str) -> NewKey:
    """Make a shop with its first key.

    Raises
    ------
    Storage, Busy
    """

    def work(connection: Connection) -> NewKey:
        return keys.new_key(connection, keys.new_shop(connection, name), name, int(time.time()))

    return _written(settings, work)


def rotate_key(settings: Settings, key_id: str, shop: str = LOCAL) -> NewKey:
    """Put a new key in the place of another.

    Raises
    ------
    NotFound, Storage, Busy
    """
    return _written(settings, lambda connection: keys.rotate(connection, shop, key_id, int(time.time())))


def revoke_key(settings: Settings, key_id: str, shop: str = LOCAL) -> None:
    """Make a key worthless.

    Raises
    ------
    NotFound, Storage, Busy
    """
    _written(settings, lambda connection: keys.revoke(connection, shop, key_id, int(time.time())))


def list_keys(settings: Settings, shop: str = LOCAL) -> list[dict[str, object]]:
    """Return id, label and times of a shop's keys.

    Raises
    ------
    Storage, Busy
    """
    store = Store(settings.notebook, pages_at_most=settings.notebook_pages_at_most)
    try:
        with store.reading() as connection:
            return keys.listed(connection, shop)
    finally:
        store.close()


def _written(settings: Settings, work: Callable[[Connection], Result]) -> Result:
    store = Store(settings.notebook, pages_at_most=settings.notebook_pages_at_most)
    try:
        with store.writing() as connection:
            changed(connection, LOCAL)
            return work(connection)
    finally:
        store.close()
