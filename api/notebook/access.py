"""Where a request meets the notebook: which shop it comes from, and what it may read or write.

Nothing here needs the extra that the notebook needs, until somebody asks for something stored.
"""

import datetime
import ipaddress
import threading
import time
from collections.abc import Callable
from typing import TYPE_CHECKING, TypeVar

from anyio import to_thread
from starlette.requests import Request

from advisor.errors import NotInstalled
from advisor.recipe.notebook import Notebook
from advisor.rulebook.load import Rulebook
from api.notebook.errors import KeyNeeded

if TYPE_CHECKING:
    from sqlalchemy.engine import Connection

    from api.notebook.keys import NewKey
    from api.notebook.knowledge import Knowledge
    from api.notebook.shop import Shop
    from api.notebook.store import Store

Result = TypeVar("Result")
COOKIE = "dough_key"
LOCAL = "local"


class ShopAccess:
    """The notebook of every shop, opened when it is first needed.

    Parameters
    ----------
    place : str
        A file, or the URL of a database.
    rulebook : Rulebook
    half_life_days : float, optional
        Age at which a dough counts half [d].
    pages_at_most : int, optional
        Largest size of the file in pages of 4096 bytes.
    clock : callable
        Returns seconds since 1970.
    """

    def __init__(
        self,
        place: str,
        rulebook: Rulebook,
        *,
        half_life_days: float | None = None,
        pages_at_most: int | None = None,
        clock: Callable[[], float] = time.time,
    ) -> None:
        self.rulebook = rulebook
        self._place = place
        self._half_life_days = half_life_days
        self._pages_at_most = pages_at_most
        self._clock = clock
        self._lock = threading.Lock()
        self._opened: tuple[Store, Knowledge] | None = None

    @property
    def now(self) -> int:
        """Seconds since 1970."""
        return int(self._clock())

    @property
    def today(self) -> datetime.date:
        """The day, in Greenwich."""
        return datetime.datetime.fromtimestamp(self._clock(), datetime.UTC).date()

    def open(self) -> "tuple[Store, Knowledge]":
        """Return the store and what is known from it.

        Raises
        ------
        NotInstalled
            An extra is missing; it is named.
        Storage
            The place is no place for a notebook.
        """
        with self._lock:
            if self._opened is None:
                try:
                    from api.notebook.knowledge import Knowledge
                    from api.notebook.store import Store
                except ImportError as error:
                    raise _missing("notebook") from error
                try:
                    store = Store(self._place, pages_at_most=self._pages_at_most)
                except ImportError as error:
                    raise _missing("postgres") from error
                self._opened = store, Knowledge(self.rulebook, self._half_life_days, lambda: self.today)
            return self._opened

    def check(self) -> None:
        """Make sure, before anybody asks, that a notebook that exists can be read; change nothing.

        Raises
        ------
        Storage
        """
        try:
            store, _ = self.open()
        except NotInstalled:
            return
        store.check()

    def close(self) -> None:
        """Let go of the notebook."""
        with self._lock:
            if self._opened is not None:
                self._opened[0].close()
                self._opened = None

    async def of(self, request: Request) -> Notebook | None:
        """Return what the shop a request comes from knows; None where nothing is stored.

        Raises
        ------
        KeyNeeded, Storage, Busy
        """
        try:
            store, _ = self.open()
        except NotInstalled:
            return None
        if not store.exists:
            _local(request)
            return None
        return await self.read(request, lambda shop: shop.known())

    async def read(self, request: Request, work: "Callable[[Shop], Result]") -> Result:
        """Return what ``work`` reads in the notebook of the shop a request comes from.

        Raises
        ------
        NotInstalled, KeyNeeded, Storage, Busy
        """
        return await to_thread.run_sync(self._read, request, work)

    def _read(self, request: Request, work: "Callable[[Shop], Result]") -> Result:
        store, _ = self.open()
        with store.reading() as connection:
            return work(self._shop(connection, request))

    async def write(
        self, request: Request, work: "Callable[[Shop], Result]", *, makes: bool = True
    ) -> Result:
        """Return what ``work`` writes in the notebook of the shop a request comes from: all of it, or none.

        ``makes`` says whether a notebook is to be made where there is none yet.

        Raises
        ------
        NotInstalled, KeyNeeded, Storage, Busy
        """
        return await to_thread.run_sync(self._write, request, work, makes)

    def _write(self, request: Request, work: "Callable[[Shop], Result]", makes: bool) -> Result:
        store, _ = self.open()
        if not store.exists:
            with store.reading() as connection:
                shop = self._shop(connection, request)
                if not makes:
                    return work(shop)
        from api.notebook.shelf import changed

        with store.writing() as connection:
            shop = self._shop(connection, request)
            changed(connection, shop.id)
            return work(shop)

    async def join(self, code: str, label: str) -> "NewKey":
        """Return the key a one-time link is changed for.

        Raises
        ------
        NotInstalled, KeyNeeded, Storage, Busy
        """
        return await to_thread.run_sync(self._join, code, label)

    def _join(self, code: str, label: str) -> "NewKey":
        store, _ = self.open()
        from api.notebook.shop import joined

        if not store.exists:
            with store.reading() as connection:
                return joined(connection, code, label, self.now)
        with store.writing() as connection:
            return joined(connection, code, label, self.now)

    def _shop(self, connection: "Connection", request: Request) -> "Shop":
        from api.notebook.shop import Shop

        _, knowledge = self.open()
        return Shop(connection, identified(connection, request), knowledge)


def identified(connection: "Connection", request: Request) -> str:
    """Return the shop a request comes from.

    Raises
    ------
    KeyNeeded
        Shops are told apart by keys and it carries no valid one, or there are none and it comes from afar.
    """
    from api.notebook import keys

    if not keys.any_made(connection):
        _local(request)
        return LOCAL
    key = _key(request)
    shop = None if key is None else keys.shop_of(connection, key)
    if shop is None:
        raise KeyNeeded(
            "The request carries no valid key.", headers={"WWW-Authenticate": 'Bearer realm="dough-advisor"'}
        )
    return shop


def _key(request: Request) -> str | None:
    scheme, _, key = request.headers.get("authorization", "").partition(" ")
    if scheme.casefold() == "bearer" and key.strip():
        return key.strip()
    return request.cookies.get(COOKIE)


def _local(request: Request) -> None:
    """Refuse a caller on another machine while there are no keys."""
    if request.client is None:
        return
    try:
        address = ipaddress.ip_address(request.client.host.partition("%")[0])
    except ValueError:
        return
    mapped = getattr(address, "ipv4_mapped", None)
    if not (mapped or address).is_loopback:
        raise KeyNeeded(
            "Without keys the notebook is open only on the machine the server runs on.",
            headers={"WWW-Authenticate": 'Bearer realm="dough-advisor"'},
        )


def _missing(extra: str) -> NotInstalled:
    return NotInstalled(
        f"The notebook needs the extra {extra}: pip install 'dough-advisor[{extra}]'.", missing_extra=extra
    )
