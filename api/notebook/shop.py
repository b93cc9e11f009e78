"""What can be done in the notebook of one shop, within one transaction."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from sqlalchemy.engine import Connection

from advisor.recipe.notebook import Notebook
from advisor.schema.notebook import StoredDough, StoredNotebook
from api.http.errors import NotFound
from api.notebook import doughs, keys, whole
from api.notebook.doughs import Kept
from api.notebook.errors import KeyNeeded
from api.notebook.keys import NewKey
from api.notebook.knowledge import Knowledge
from api.notebook.precondition import Precondition
from api.notebook.repeatable import Repeatable
from api.notebook.schema import LOCAL
from api.notebook.shelf import LOTS, MATERIALS, UPTAKE_TESTS

Kind = Literal["materials", "lots", "uptake_tests"]
_SHELVES = {"materials": MATERIALS, "lots": LOTS, "uptake_tests": UPTAKE_TESTS}


@dataclass(frozen=True)
class Shop:
    """One shop's notebook; every change is kept when the transaction ends, or none."""

    connection: Connection
    id: str
    knowledge: Knowledge

    def known(self) -> Notebook:
        """Return what the shop knows."""
        return self.knowledge.of(self.connection, self.id)

    def get(self, kind: Kind, name: Sequence[str]) -> str:
        """Return what is kept under a name.

        Raises
        ------
        NotFound
        """
        return _SHELVES[kind].get(self.connection, self.id, name)

    def put(self, kind: Kind, name: Sequence[str], body: str, condition: Precondition) -> bool:
        """Keep a thing under a name and tell whether it is new.

        Raises
        ------
        Stale, IfMatchNeeded
        """
        return _SHELVES[kind].put(self.connection, self.id, name, body, condition)

    def remove(self, kind: Kind, name: Sequence[str], condition: Precondition) -> None:
        """Forget a thing.

        Raises
        ------
        NotFound, Stale, IfMatchNeeded
        """
        _SHELVES[kind].remove(self.connection, self.id, name, condition)

    def items(self, kind: Kind, under: Sequence[str] = ()) -> list[tuple[tuple[str, ...], str]]:
        """Return names and bodies, sorted by name."""
        return _SHELVES[kind].items(self.connection, self.id, under)

    def add_dough(self, dough: StoredDough, repeatable: Repeatable | None) -> Kept:
        """Write down a dough, once for each name its writer gave the request.

        Raises
        ------
        Conflict
        """
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
        Stale, IfMatchNeeded
        """
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

    def taken_out(self) -> str:
        """Return the whole notebook as one JSON text."""
        return whole.taken_out(self.connection, self.id, self.knowledge.rulebook.edition)

    def put_in(self, notebook: StoredNotebook, condition: Precondition) -> tuple[Mapping[str, int], bool]:
        """Keep a whole notebook in place of what there was; tell how many rows, and whether there was none.

        Raises
        ------
        Stale, IfMatchNeeded
        """
        empty = whole.is_empty(self.connection, self.id)
        condition.hold(None if empty else self.taken_out())
        return whole.put_in(self.connection, self.id, notebook), empty

    def erase(self, condition: Precondition) -> None:
        """Forget everything but the keys.

        Raises
        ------
        Stale, IfMatchNeeded
        """
        condition.hold(None if whole.is_empty(self.connection, self.id) else self.taken_out())
        whole.erase(self.connection, self.id)

    def keys(self) -> list[dict[str, object]]:
        """Return what is told of the shop's keys."""
        return keys.listed(self.connection, self.id)

    def new_key(self, label: str, now: int) -> NewKey:
        """Make one more key for this shop."""
        return keys.new_key(self.connection, self.id, label, now)

    def new_shop(self, name: str, now: int) -> NewKey:
        """Make another shop with its first key; only the first shop may.

        Raises
        ------
        NotFound
        """
        if self.id != LOCAL:
            raise NotFound("Only the first shop of this server makes others.")
        return keys.new_key(self.connection, keys.new_shop(self.connection, name), name, now)

    def rotate_key(self, name: str, now: int) -> NewKey:
        """Put a new key in the place of another.

        Raises
        ------
        NotFound
        """
        return keys.rotate(self.connection, self.id, name, now)

    def revoke_key(self, name: str, now: int) -> None:
        """Make a key worthless.

        Raises
        ------
        NotFound
        """
        keys.revoke(self.connection, self.id, name, now)


def joined(connection: Connection, code: str, label: str, now: int) -> NewKey:
    """Return the key a one-time link is changed for.

    Raises
    ------
    KeyNeeded
        It was used, is too old or never was.
    """
    made = keys.use_link(connection, code, label, now)
    if made is None:
        raise KeyNeeded("The link was used already or is too old; start the sharing again for a new one.")
    return made
