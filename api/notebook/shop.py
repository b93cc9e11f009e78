"""What can be done in the notebook of one shop, within one transaction."""

import datetime
from collections.abc import Mapping, Sequence
from contextlib import ExitStack
from dataclasses import dataclass, field
from typing import Literal

from sqlalchemy.engine import Connection

from advisor.recipe.notebook import Notebook
from advisor.recipe.versions import version_of
from advisor.schema.lot import Stocked
from advisor.schema.notebook import RecipeVersion, StoredDough, VersionTold
from api.http.errors import NotFound, existing
from api.notebook import doughs, keys, recipes, stock, whole
from api.notebook.callers import LOCAL, Caller, NewKey, Role
from api.notebook.doughs import Kept
from api.notebook.incoming import Incoming
from api.notebook.keys import Wanted
from api.notebook.knowledge import Knowledge
from api.notebook.named import LOTS, MATERIALS, UPTAKE_TESTS
from api.notebook.precondition import Precondition, Repeatable

Kind = Literal["materials", "lots", "uptake_tests"]
_NAMED = {"materials": MATERIALS, "lots": LOTS, "uptake_tests": UPTAKE_TESTS}


@dataclass(frozen=True)
class Shop:
    """One shop's notebook; every change is kept when the transaction ends, or none.

    Parameters
    ----------
    connection : Connection
    caller : Caller
        Who asks, and whose notebook it is.
    knowledge : Knowledge
    ending : ExitStack, optional
        Is closed once the transaction has ended; without, nobody asks afterwards.
    noted : list
        What the log is to say once all of it is kept: events with their facts, never contents.
    """

    connection: Connection
    caller: Caller
    knowledge: Knowledge
    ending: ExitStack | None = None
    noted: list[tuple[str, dict[str, object]]] = field(default_factory=list)

    @property
    def id(self) -> str:
        """The shop's id."""
        return self.caller.shop

    def note(self, event: str, **facts: object) -> None:
        """Let the log say what was done, once it is kept."""
        self.noted.append((event, facts))

    def known(self) -> Notebook:
        """Return what the shop knows."""
        return self.knowledge.of(self.connection, self.id)

    def get(self, kind: Kind, name: Sequence[str]) -> str:
        """Return what is kept under a name.

        Raises
        ------
        NotFound
        """
        return _NAMED[kind].get(self.connection, self.id, name)

    def put(self, kind: Kind, name: Sequence[str], body: str, condition: Precondition) -> bool:
        """Keep a thing under a name and tell whether it is new.

        Raises
        ------
        Stale, IfMatchNeeded
        """
        if kind == "lots":
            stock.counted(self.connection, self.id, name, body)
        new = _NAMED[kind].put(self.connection, self.id, name, body, condition)
        self._learn_ahead()
        return new

    def remove(self, kind: Kind, name: Sequence[str], condition: Precondition) -> None:
        """Forget a thing.

        Raises
        ------
        NotFound, Stale, IfMatchNeeded
        """
        if kind == "lots":
            stock.counted(self.connection, self.id, name, None)
        _NAMED[kind].remove(self.connection, self.id, name, condition)
        self._learn_ahead()

    def items(self, kind: Kind, under: Sequence[str] = ()) -> list[tuple[tuple[str, ...], str]]:
        """Return names and bodies, sorted by name."""
        return _NAMED[kind].items(self.connection, self.id, under)

    def add_dough(self, dough: StoredDough, repeatable: Repeatable | None) -> Kept:
        """Write down a dough, once for each name its writer gave the request.

        Raises
        ------
        Conflict, InvalidRequest
        """
        self._check_version(dough, None)
        return doughs.add(self.connection, self.id, dough, repeatable)

    def dough(self, name: str) -> Kept:
        """Return a dough.

        Raises
        ------
        NotFound
        """
        return doughs.get(self.connection, self.id, name)

    def put_dough(self, name: str, dough: StoredDough, condition: Precondition) -> tuple[Kept, bool]:
        """Keep a dough under its id and tell whether it is new.

        Raises
        ------
        Stale, IfMatchNeeded, InvalidRequest
        """
        self._check_version(dough, doughs.find(self.connection, self.id, name))
        return doughs.put(self.connection, self.id, name, dough, condition)

    def remove_dough(self, name: str, condition: Precondition) -> None:
        """Forget a dough.

        Raises
        ------
        NotFound, Stale, IfMatchNeeded
        """
        doughs.remove(self.connection, self.id, name, condition)

    def doughs(
        self, limit: int, after: int | None, *, newest: bool, lot: tuple[str, str] | None
    ) -> tuple[list[Kept], int | None]:
        """Return doughs in order, and the place to go on from."""
        return doughs.page(self.connection, self.id, limit, after, newest=newest, lot=lot)

    def _check_version(self, dough: StoredDough, kept: Kept | None) -> None:
        """Refuse a dough of a version nobody kept; one that named it already may go on naming it."""
        of = version_of(dough)
        if of is not None and (kept is None or of != version_of(StoredDough.model_validate_json(kept.body))):
            recipes.check(self.connection, self.id, of, "/version")

    def recipes(self) -> list[RecipeVersion]:
        """Return every version of every recipe, by key and oldest first."""
        return recipes.versions(self.connection, self.id)

    def recipe(self, key: str) -> RecipeVersion:
        """Return the newest version of a recipe.

        Raises
        ------
        NotFound
        """
        return recipes.get(self.connection, self.id, key)

    def past(self, key: str) -> list[VersionTold]:
        """Return the versions of a recipe with what became of each.

        Raises
        ------
        NotFound
        """
        return recipes.past(self.connection, self.id, key)

    def put_recipe(self, wanted: RecipeVersion, condition: Precondition) -> tuple[RecipeVersion, bool]:
        """Keep a recipe as its next version and tell whether it is the first.

        Raises
        ------
        Stale, IfMatchNeeded, InvalidRequest
        """
        return recipes.put(self.connection, self.id, wanted, condition)

    def remove_recipe(self, key: str, condition: Precondition) -> None:
        """Forget a recipe with its versions.

        Raises
        ------
        NotFound, Stale, IfMatchNeeded
        """
        recipes.remove(self.connection, self.id, key, condition)

    def stock(self, today: datetime.date) -> list[Stocked]:
        """Return what each lot holds, by material and name."""
        return stock.stocked(self.connection, self.id, today, self.known())

    def taken_out(self) -> str:
        """Return the whole notebook as one JSON text."""
        return whole.taken_out(self.connection, self.id, self.knowledge.rulebook.edition)

    def put_in(self, notebook: Incoming, condition: Precondition, now: int) -> tuple[Mapping[str, int], bool]:
        """Keep a whole notebook in place of what there was; tell how many rows, and whether there was none.

        Raises
        ------
        Stale, IfMatchNeeded
        """
        before = None if whole.is_empty(self.connection, self.id) else self.taken_out()
        condition.hold(before)
        if before is not None:
            whole.keep_replaced(self.connection, self.id, before, now)
        self.note("notebook replaced")
        return self._put_in(notebook), before is None

    def take_back(self, now: int) -> Mapping[str, int]:
        """Put the notebook that was replaced back in; the one there is now takes its place.

        Raises
        ------
        NotFound
            Nothing was replaced.
        """
        replaced = existing(whole.replaced(self.connection, self.id), "No notebook was replaced here.")
        whole.keep_replaced(self.connection, self.id, self.taken_out(), now)
        self.note("notebook taken back")
        return self._put_in(replaced)

    def _put_in(self, notebook: Incoming) -> Mapping[str, int]:
        counts = whole.put_in(self.connection, self.id, notebook)
        self._learn_ahead()
        return counts

    def _learn_ahead(self) -> None:
        """Let the writer learn what many doughs come to anew, before anybody else asks."""
        if self.ending is not None:
            self.ending.enter_context(self.knowledge.ahead(self.connection, self.id))

    def erase(self, condition: Precondition) -> None:
        """Forget everything but the keys, what was replaced too.

        Raises
        ------
        Stale, IfMatchNeeded
        """
        condition.hold(None if whole.is_empty(self.connection, self.id) else self.taken_out())
        whole.erase(self.connection, self.id)
        whole.forget_replaced(self.connection, self.id)
        self.note("notebook erased")

    def keys(self) -> list[dict[str, object]]:
        """Return what may be said of the shop's keys."""
        return keys.listed(self.connection, self.id)

    def new_key(self, now: int, label: str, role: Role = "owner", ends_at: int | None = None) -> NewKey:
        """Make one more key for this shop.

        Raises
        ------
        InvalidRequest
        """
        wanted = Wanted(label, role, ends_at)
        return self._made(keys.new_key(self.connection, self.id, wanted, now))

    def new_shop(self, name: str, now: int) -> NewKey:
        """Make another shop with its first key; only the first shop may.

        Raises
        ------
        NotFound
        """
        self.first()
        shop = keys.new_shop(self.connection, name)
        return self._made(keys.new_key(self.connection, shop, Wanted(name), now))

    def first(self) -> Caller:
        """Return who asks, if it is the shop the server belongs to.

        Raises
        ------
        NotFound
        """
        if self.id != LOCAL:
            raise NotFound("Only the first shop of this server may do that.")
        return self.caller

    def rotate_key(self, name: str, now: int) -> NewKey:
        """Put a new key in the place of another.

        Raises
        ------
        NotFound
        """
        self.note("key revoked", key=name)
        return self._made(keys.rotate(self.connection, self.id, name, now))

    def revoke_key(self, name: str, now: int) -> None:
        """Make a key worthless.

        Raises
        ------
        NotFound, Conflict
        """
        keys.revoke(self.connection, self.id, name, now)
        self.note("key revoked", key=name)

    def _made(self, made: NewKey) -> NewKey:
        self.note("key made", key=made.id, role=made.role)
        return made
