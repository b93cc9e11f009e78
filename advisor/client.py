"""The Python client: every calculation, the library and sweeps, typed by the shapes.

It needs ``httpx`` (the extra ``client``) and nothing of the server but the shapes. Fields that a newer server
adds to its answers are ignored.
"""

import json
from collections.abc import Callable, Iterable, Iterator, Mapping
from types import TracebackType
from typing import TYPE_CHECKING, Any, Self, TypeVar

import httpx
from pydantic import BaseModel, TypeAdapter

from advisor.drying.rack_schema import RackAnswer
from advisor.registry import TASKS, Task
from advisor.schema.kept_recipe import KeptRecipe, RecipesPage, RecipeVersion, VersionsPage, VersionTold
from advisor.schema.material import Material
from advisor.schema.server import Health, MaterialsPage
from advisor.schema.stock import Stocked, StockPage
from advisor.sweeps.schema import Answered, Refused

Answer = TypeVar("Answer", bound=BaseModel)
Fields = Mapping[str, Any]
_NDJSON = {"Content-Type": "application/x-ndjson"}
_ENTRY: TypeAdapter[Answered | Refused] = TypeAdapter(Answered | Refused)
_SECONDS = 60.0


class ProblemError(Exception):
    """The server answered with a problem (RFC 9457).

    ``code`` never changes its meaning; ``problem`` is the whole body.
    """

    def __init__(self, problem: Fields) -> None:
        super().__init__(str(problem.get("detail", "")))
        self.problem = dict(problem)
        self.status = int(problem.get("status", 0))
        self.code = str(problem.get("code", ""))


class Client:
    """A connection to a server; close it, or use it in a ``with``.

    Parameters
    ----------
    address : str
        As in ``http://127.0.0.1:8000``.
    key : str, optional
        The key of the shop.
    http : httpx.Client, optional
        What sends the requests, with a base address of its own; default: a new one.

    Raises
    ------
    ProblemError
        By every method: the server refused the request or could not answer it.

    Examples
    --------
    >>> from fastapi.testclient import TestClient
    >>> from api.app import create_app
    >>> lines = [{"material": "betaine-30", "percent": 30}, {"material": "isethionate-powder", "percent": 70}]
    >>> with Client(http=TestClient(create_app())) as client:
    ...     client.assess({"recipe": {"lines": lines}}).totals.active
    67.8
    """

    def __init__(
        self,
        address: str = "http://127.0.0.1:8000",
        key: str | None = None,
        http: httpx.Client | None = None,
    ) -> None:
        self._http = http or httpx.Client(base_url=address, timeout=_SECONDS)
        self._tags: dict[str, str] = {}
        self._headers = {} if key is None else {"Authorization": f"Bearer {key}"}

    def __enter__(self) -> Self:
        """Use the connection in a ``with``."""
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Close it."""
        self.close()

    def close(self) -> None:
        """Close the connection."""
        self._http.close()

    def sweep_lines(self, bodies: Iterable[Fields]) -> Iterator[Answered | Refused]:
        """Ask any number of tasks, and yield each answer or problem as it comes, in the order asked.

        Parameters
        ----------
        bodies : iterable of mapping
            The body of a task each; its field ``task`` may name the task. They are drawn as they are sent.
        """
        sent = (json.dumps(body).encode() + b"\n" for body in bodies)
        headers = {**self._headers, **_NDJSON}
        with self._http.stream("POST", "/v1/sweeps", content=sent, headers=headers, timeout=None) as answer:
            if answer.status_code >= 400:
                answer.read()
                raise ProblemError(answer.json())
            for line in answer.iter_lines():
                yield _ENTRY.validate_json(line, extra="ignore")

    def material(self, key: str) -> Material:
        """Return a material by its key, the shop's own before the library's."""
        return self._read(self._http.get(f"/v1/materials/{key}", headers=self._headers), Material)

    def materials(self, part: str = "", role: str | None = None) -> Iterator[Material]:
        """Yield the materials a part of whose name is given, page by page."""
        yield from self._items("/v1/materials", {"q": part or None, "role": role}, MaterialsPage)

    def recipe(self, key: str) -> RecipeVersion:
        """Return the newest version of a recipe."""
        return self._seen(self._http.get(f"/v1/recipes/{key}", headers=self._headers), key)

    def keep_recipe(self, key: str, recipe: KeptRecipe | Fields) -> RecipeVersion:
        """Keep a recipe as the next version after the one this client saw last, or as the first.

        Who did not see the newest is refused with the code ``stale``: read it, and decide.
        """
        tag = self._tags.get(key)
        seen = {"If-None-Match": "*"} if tag is None else {"If-Match": tag}
        fields = _fields(recipe)
        headers = {**self._headers, **seen}
        return self._seen(self._http.put(f"/v1/recipes/{key}", json=fields, headers=headers), key)

    def versions(self, key: str) -> list[VersionTold]:
        """Return the versions of a recipe, oldest first, with what changed and what was made of each."""
        return list(self._items(f"/v1/recipes/{key}/versions", {}, VersionsPage))

    def recipes(self) -> list[RecipeVersion]:
        """Return the newest version of each recipe."""
        return list(self._items("/v1/recipes", {}, RecipesPage))

    def stock(self) -> list[Stocked]:
        """Return what each lot holds."""
        return list(self._items("/v1/stock", {}, StockPage))

    def rack(self) -> RackAnswer:
        """Return every batch that dries, and what is to be done today."""
        return self._read(self._http.get("/v1/rack", headers=self._headers), RackAnswer)

    def health(self) -> Health:
        """Return whether the server works, and with what."""
        return self._read(self._http.get("/health"), Health)

    if TYPE_CHECKING:

        def __getattr__(self, name: str) -> Callable[[BaseModel | Fields], Any]:
            """Ask the task of the name, which the registry adds."""

    def _items(self, address: str, query: Fields, shape: type[Any]) -> Iterator[Any]:
        """Yield the items of a list, page by page."""
        given = {name: value for name, value in query.items() if value is not None}
        while True:
            page = self._read(self._http.get(address, params=given, headers=self._headers), shape)
            yield from page.items
            if page.next is None:
                return
            given["after"] = page.next

    def _seen(self, answer: httpx.Response, key: str) -> RecipeVersion:
        found = self._read(answer, RecipeVersion)
        self._tags[key] = answer.headers["etag"]
        return found

    def _ask(self, task: Task, request: BaseModel | Fields) -> Any:
        sent = self._http.post(f"/v1/{task.route}", json=_fields(request), headers=self._headers)
        return self._read(sent, task.answer)

    @staticmethod
    def _read(answer: httpx.Response, shape: type[Answer]) -> Answer:
        if answer.status_code >= 400:
            raise ProblemError(answer.json())
        return shape.model_validate_json(answer.content, extra="ignore")


def _fields(request: BaseModel | Fields) -> Fields:
    if isinstance(request, BaseModel):
        return request.model_dump(mode="json", exclude_unset=True)
    return request


def _method(task: Task) -> Callable[..., Any]:
    def ask(self: Client, request: BaseModel | Fields) -> Any:
        return self._ask(task, request)

    ask.__name__, ask.__qualname__ = task.name, f"Client.{task.name}"
    ask.__doc__ = (
        f"{task.summary}.\n\nTakes ``{task.shapes}Request`` or a dict, returns ``{task.shapes}Answer``."
    )
    return ask


for _task in TASKS:
    if _task.method == "POST":
        setattr(Client, _task.name, _method(_task))
