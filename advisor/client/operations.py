"""What a server can be asked: each operation of its interface, with its address and what it answers."""

from collections.abc import Iterator
from typing import NamedTuple

from pydantic import BaseModel

from advisor.drying.schema import RackAnswer
from advisor.registry import TASKS, Task, task
from advisor.schema.batch_record import BatchRecordAnswer
from advisor.schema.lot import Lot, LotRow, Stocked
from advisor.schema.material import Material, UptakeTest
from advisor.schema.notebook import RecipeVersion, StoredDough, StoredNotebook, VersionTold
from advisor.schema.server import Health, Readiness

_PAGE = ("limit",)


class Operation(NamedTuple):
    """One thing a server can be asked.

    Parameters
    ----------
    name : str
        Its operation id.
    method, path : str
    answer : type or Task, optional
        The shape of the answer, or of each item of a list; None where it is plain JSON, bytes or nothing.
    query : tuple of str
        What may be asked besides.
    sends : str
        What its body is called, empty where it has none.
    paged : bool
        Whether it is a list that is read page by page.
    """

    name: str
    method: str
    path: str
    answer: type[BaseModel] | Task | None = None
    query: tuple[str, ...] = ()
    sends: str = ""
    paged: bool = False

    @property
    def shape(self) -> type[BaseModel] | None:
        """The shape of the answer, loaded when it is needed."""
        return self.answer.answer if isinstance(self.answer, Task) else self.answer

    @property
    def about(self) -> str:
        """What it does, in one line."""
        return (
            self.answer.summary if isinstance(self.answer, Task) else self.name.replace("_", " ").capitalize()
        )

    @property
    def takes(self) -> tuple[str, ...]:
        """What a call names, in order: the parts of the address, the body, the query."""
        named = [part.partition("}")[0] for part in self.path.split("{")[1:]]
        return (*named, *filter(None, [self.sends]), *self.query)


def _kept(word: str, path: str, shape: type[BaseModel]) -> Iterator[Operation]:
    yield Operation(f"get_{word}", "GET", path, shape)
    yield Operation(f"put_{word}", "PUT", path, shape, sends="thing")
    yield Operation(f"delete_{word}", "DELETE", path)


OPERATIONS = (
    *(
        Operation(one.name, "POST", f"/v1/{one.address}", one, sends="request")
        for one in TASKS
        if one.method == "POST"
    ),
    Operation("get_window", "GET", "/v1/window", task("window_of"), ("first",)),
    Operation("list_materials", "GET", "/v1/materials", Material, ("q", "role", "own", *_PAGE), paged=True),
    *_kept("material", "/v1/materials/{key}", Material),
    Operation("list_lots", "GET", "/v1/materials/{key}/lots", LotRow, _PAGE, paged=True),
    *_kept("lot", "/v1/materials/{key}/lots/{lot}", Lot),
    *_kept("uptake_test", "/v1/materials/{key}/uptake-test", UptakeTest),
    Operation("add_dough", "POST", "/v1/doughs", StoredDough, sends="dough"),
    Operation(
        "list_doughs", "GET", "/v1/doughs", StoredDough, ("newest", "material", "lot", *_PAGE), paged=True
    ),
    *_kept("dough", "/v1/doughs/{dough_id}", StoredDough),
    Operation("get_dough_record", "GET", "/v1/doughs/{dough_id}/batch-record", BatchRecordAnswer),
    Operation("get_dough_label", "GET", "/v1/doughs/{dough_id}/label", task("label"), ("market", "used_on")),
    Operation("list_recipes", "GET", "/v1/recipes", RecipeVersion, _PAGE, paged=True),
    *_kept("recipe", "/v1/recipes/{key}", RecipeVersion),
    Operation("list_versions", "GET", "/v1/recipes/{key}/versions", VersionTold, _PAGE, paged=True),
    Operation("list_stock", "GET", "/v1/stock", Stocked, _PAGE, paged=True),
    Operation("get_rack", "GET", "/v1/rack", RackAnswer),
    Operation("get_notebook", "GET", "/v1/notebook", StoredNotebook),
    Operation("put_notebook", "PUT", "/v1/notebook", sends="notebook"),
    Operation("delete_notebook", "DELETE", "/v1/notebook"),
    Operation("restore_notebook", "POST", "/v1/notebook/restorations"),
    Operation("get_backup", "GET", "/v1/backup"),
    Operation("list_keys", "GET", "/v1/keys"),
    Operation("make_key", "POST", "/v1/keys", sends="wanted"),
    Operation("make_shop", "POST", "/v1/shops", sends="wanted"),
    Operation("rotate_key", "POST", "/v1/keys/{key_id}/rotations"),
    Operation("revoke_key", "DELETE", "/v1/keys/{key_id}"),
    Operation("list_feels", "GET", "/v1/feels", None, _PAGE, paged=True),
    Operation("list_limits", "GET", "/v1/limits", None, ("market", *_PAGE), paged=True),
    Operation("list_frames", "GET", "/v1/frames", None, _PAGE, paged=True),
    Operation("get_health", "GET", "/health", Health),
    Operation("get_ready", "GET", "/ready", Readiness),
    Operation("explain_problem", "GET", "/problems/{code}"),
)
