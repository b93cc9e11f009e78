"""Where a request meets the notebook: which shop it comes from, and what it may read or write.

Nothing here needs the extra that the notebook needs, until somebody asks for something stored.
"""

import datetime
import logging
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager, suppress
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from anyio import to_thread
from starlette.requests import Request

from advisor.errors import NotInstalled
from advisor.recipe.notebook import NO_FACTS, Notebook, ShopFacts, unwritten_notebook
from advisor.rulebook.load import Rulebook
from api.http.errors import Busy
from api.notebook.callers import Caller, NewKey, Role, address_of, identified, log, on_this_machine
from api.notebook.errors import KeyNeeded, Storage, cause_of
from api.notebook.place import place_of

if TYPE_CHECKING:
    from sqlalchemy.engine import Connection

    from api.notebook.knowledge import Knowledge
    from api.notebook.shop import Shop
    from api.notebook.store import Store

Result = TypeVar("Result")
_USED_SECONDS = 3600


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
    facts : ShopFacts
        What the first shop says of itself.
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
        facts: ShopFacts = NO_FACTS,
        clock: Callable[[], float] = time.time,
    ) -> None:
        self.rulebook = rulebook
        self._place = place
        self._half_life_days = half_life_days
        self._pages_at_most = pages_at_most
        self._facts = facts
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
                    raise NotInstalled.of("The notebook", "notebook") from error
                try:
                    store = Store(self._place, pages_at_most=self._pages_at_most)
                except ImportError as error:
                    raise NotInstalled.of("The notebook", "postgres") from error
                self._opened = (
                    store,
                    Knowledge(self.rulebook, self._half_life_days, lambda: self.today, self._facts),
                )
            return self._opened

    def check(self) -> str:
        """Make sure, before anybody asks, that a notebook that exists can be read; change nothing.

        Returns
        -------
        str
            Where it lies, or why nothing can be kept.

        Raises
        ------
        Storage
        """
        try:
            store, _ = self.open()
        except NotInstalled as missing:
            return f"nothing is kept. {missing.detail}"
        store.check()
        return place_of(self._place)

    def close(self) -> None:
        """Let go of the notebook."""
        with self._lock:
            if self._opened is not None:
                self._opened[0].close()
                self._opened = None

    async def admit(self, request: Request) -> None:
        """Look at the key of a request, before anything else of it is read.

        Raises
        ------
        KeyNeeded, Storage, Busy
        """
        await self._asked(request, lambda shop: shop.caller)

    async def ready(self, request: Request) -> None:
        """Make sure that what is stored can be read now; where it lies and why not, only the log says.

        Raises
        ------
        Storage, Busy
        """
        try:
            with self._watched(request):
                await to_thread.run_sync(self.check)
        except Storage:
            raise Storage("What is stored cannot be read; the server's log says why.") from None

    async def backup(self, request: Request, target: Path) -> None:
        """Copy the whole notebook, of all shops, into a new file; for the owner of the server.

        Raises
        ------
        NotInstalled, KeyNeeded, RoleNeeded, NotFound, Storage, Busy
        """
        caller = await self.read(request, lambda shop: shop.first(), least="owner")
        store, _ = self.open()
        with self._watched(request):
            await to_thread.run_sync(store.copy_to, target)
        log(request, "backup", caller.name, level=logging.INFO)

    async def of(self, request: Request) -> Notebook | None:
        """Return what the shop a request comes from knows; None where nothing is stored or set.

        Raises
        ------
        KeyNeeded, Storage, Busy
        """
        known = await self._asked(request, lambda shop: shop.known())
        return known or unwritten_notebook(self.rulebook, self._facts)

    async def _asked(self, request: Request, work: "Callable[[Shop], Result]") -> Result | None:
        """Return what ``work`` reads, None where nothing is stored; a caller from afar then is refused."""
        try:
            store, _ = self.open()
        except NotInstalled:
            return None
        if store.exists:
            return await self.read(request, work)
        on_this_machine(request)
        return None

    async def read(
        self, request: Request, work: "Callable[[Shop], Result]", *, least: Role = "read"
    ) -> Result:
        """Return what ``work`` reads in the notebook of the shop a request comes from.

        Raises
        ------
        NotInstalled, KeyNeeded, RoleNeeded, Storage, Busy
        """
        return await to_thread.run_sync(self._read, request, work, least)

    def _read(self, request: Request, work: "Callable[[Shop], Result]", least: Role) -> Result:
        store, _ = self.open()
        with self._watched(request), store.reading() as connection:
            caller = self._caller(connection, request, least)
            result = work(self._shop(connection, caller))
        if caller.key is not None and self.now - (caller.used_at or 0) >= _USED_SECONDS:
            self._note_use(request, store, caller)
        return result

    async def write(
        self,
        request: Request,
        work: "Callable[[Shop], Result]",
        *,
        makes: bool = True,
        least: Role = "bench",
    ) -> Result:
        """Return what ``work`` writes in the notebook of the shop a request comes from: all of it, or none.

        ``makes`` says whether a notebook is to be made where there is none yet.

        Raises
        ------
        NotInstalled, KeyNeeded, RoleNeeded, Storage, Busy
        """
        return await to_thread.run_sync(self._write, request, work, makes, least)

    def _write(self, request: Request, work: "Callable[[Shop], Result]", makes: bool, least: Role) -> Result:
        caller = self._read(request, lambda shop: shop.caller, least)
        store, _ = self.open()
        if not (makes or store.exists):
            return self._read(request, work, least)
        from api.notebook.named import changed

        with ExitStack() as ending, self._watched(request), store.writing() as connection:
            shop = self._shop(connection, caller, ending)
            changed(connection, shop.id)
            result = work(shop)
        for event, facts in shop.noted:
            log(request, event, caller.name, level=logging.INFO, **facts)
        return result

    async def join(self, request: Request, code: str, label: str) -> NewKey:
        """Return the key a one-time link is changed for.

        Raises
        ------
        NotInstalled, KeyNeeded, Storage, Busy
        """
        return await to_thread.run_sync(self._join, request, code, label)

    def _join(self, request: Request, code: str, label: str) -> NewKey:
        store, _ = self.open()
        from api.notebook import keys

        made, address = None, address_of(request)
        with self._watched(request):
            with store.reading() as connection:
                good = keys.link_is_good(connection, code, self.now)
            if good:
                with store.writing() as connection:
                    made = keys.use_link(connection, code, label, self.now)
        if made is None:
            log(request, "link refused", address)
            raise KeyNeeded("The link was used already or is too old; start the sharing again for a new one.")
        log(request, "key made", address, level=logging.INFO, key=made.id, role=made.role)
        return made

    def _caller(self, connection: "Connection", request: Request, least: Role) -> Caller:
        """Return who asks; what was found out once holds for the whole request."""
        found: Caller | None = getattr(request.state, "caller", None)
        if found is None:
            found = request.state.caller = identified(connection, request, self.now)
        found.require(least, request)
        return found

    def _note_use(self, request: Request, store: "Store", caller: Caller) -> None:
        """Write down that a key is in use, at most once an hour.

        A notebook that is full still is read; where another writes just now, it is noted the next time.
        """
        from api.notebook import keys

        request.state.caller = replace(caller, used_at=self.now)
        try:
            with suppress(Busy), store.writing(patience=0.0) as connection:
                keys.used(connection, caller.name, self.now)
        except Storage as error:
            log(request, "use of a key not noted", caller.name, cause=cause_of(error))

    def _shop(self, connection: "Connection", caller: Caller, ending: ExitStack | None = None) -> "Shop":
        from api.notebook.shop import Shop

        _, knowledge = self.open()
        return Shop(connection, caller, knowledge, ending)

    @contextmanager
    def _watched(self, request: Request) -> Iterator[None]:
        """Let the log say why the notebook cannot be read or written, and who asked."""
        try:
            yield
        except Storage as error:
            caller = getattr(request.state, "caller", None)
            log(
                request,
                "storage",
                address_of(request) if caller is None else caller.name,
                level=logging.ERROR,
                cause=cause_of(error),
                detail=error.detail,
            )
            raise
