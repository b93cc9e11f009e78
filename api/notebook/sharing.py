"""What the command line does with keys, on the server's own machine and without a key."""

import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeVar

from sqlalchemy.engine import Connection

from api.notebook import keys
from api.notebook.callers import LOCAL, NewKey
from api.notebook.keys import Wanted
from api.notebook.named import changed
from api.notebook.store import opened
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
        made = keys.new_key(connection, LOCAL, Wanted(label), now)
        codes = [keys.new_link(connection, LOCAL, now) for _ in range(devices)]
        return Shared(made, tuple(f"/join?code={code}" for code in codes))

    return _written(settings, work)


def make_key(settings: Settings, wanted: Wanted) -> NewKey:
    """Make a key for the local shop.

    Raises
    ------
    InvalidRequest, Storage, Busy
    """
    return _written(settings, lambda one: keys.new_key(one, LOCAL, wanted, int(time.time())))


def revoke_key(settings: Settings, key_id: str, *, sure: bool) -> None:
    """Make a key of the local shop worthless; the last one of its owner only where ``sure``.

    Raises
    ------
    NotFound, Conflict, Storage, Busy
    """
    _written(settings, lambda one: keys.revoke(one, LOCAL, key_id, int(time.time()), sure=sure))


def list_keys(settings: Settings) -> list[dict[str, object]]:
    """Return id, label, role and times of the local shop's keys.

    Raises
    ------
    Storage, Busy
    """
    with opened(settings) as store, store.reading() as connection:
        return keys.listed(connection, LOCAL)


def _written(settings: Settings, work: Callable[[Connection], Result]) -> Result:
    with opened(settings) as store, store.writing() as connection:
        changed(connection, LOCAL)
        return work(connection)
