"""The Python client: the whole interface of a server, asked at once or without waiting, typed by the shapes.

It needs ``httpx`` (the extra ``client``) and nothing of the server or the solver but the shapes. Fields that
a newer server adds to its answers are ignored.
"""

import inspect
import json
from collections.abc import AsyncIterator, Callable, Iterable, Iterator, Mapping
from types import TracebackType
from typing import TYPE_CHECKING, Any, Self
from urllib.parse import quote

from pydantic import BaseModel, TypeAdapter

from advisor.client.operations import OPERATIONS, Operation
from advisor.errors import NotInstalled
from advisor.sweeps.schema import Answered, Refused

try:
    import httpx
except ImportError as error:
    raise ImportError(NotInstalled.of("The client", "client").detail) from error

Fields = Mapping[str, Any]
_NDJSON = "application/x-ndjson"
_ENTRY: TypeAdapter[Answered | Refused] = TypeAdapter(Answered | Refused)
_SECONDS = 60.0
_ALSO = {
    "material": "get_material",
    "materials": "list_materials",
    "recipe": "get_recipe",
    "recipes": "list_recipes",
    "keep_recipe": "put_recipe",
    "versions": "list_versions",
    "stock": "list_stock",
    "rack": "get_rack",
    "health": "get_health",
}
"""Shorter names of operations that are asked often."""


class ProblemError(Exception):
    """The server answered with a problem (RFC 9457).

    ``code`` never changes its meaning; ``problem`` is the whole body.
    """

    def __init__(self, problem: Fields) -> None:
        super().__init__(str(problem.get("detail", "")))
        self.problem = dict(problem)
        self.status = int(problem.get("status", 0))
        self.code = str(problem.get("code", ""))


class _Asking:
    """What both clients share: how an operation is sent, and how its answer is read."""

    def __init__(self, key: str | None) -> None:
        self._tags: dict[str, str] = {}
        self._headers = {} if key is None else {"Authorization": f"Bearer {key}"}

    if TYPE_CHECKING:

        def __getattr__(self, name: str) -> Callable[..., Any]:
            """Ask the operation of the name."""

    def _sent(self, asked: Operation, given: Fields) -> dict[str, Any]:
        """Return the request: what was not seen yet is made new, what was seen is changed as it was seen."""
        url = asked.path.format(**{name: quote(str(value), safe="") for name, value in given.items()})
        headers = dict(self._headers)
        if asked.method in ("PUT", "DELETE") and url in self._tags:
            headers["If-Match"] = self._tags[url]
        elif asked.method == "PUT":
            headers["If-None-Match"] = "*"
        body = _body(given[asked.sends]) if asked.sends else {}
        headers |= body.pop("headers", {})
        query = {name: given[name] for name in asked.query if given.get(name) is not None}
        return {"method": asked.method, "url": url, "params": query, "headers": headers, **body}

    def _read(self, asked: Operation, url: str, answer: httpx.Response) -> Any:
        """Return what was answered; the tag of a thing is kept for changing it, until it is forgotten."""
        _refuse(answer)
        self._tags.pop(url, None)
        if "etag" in answer.headers:
            self._tags[url] = answer.headers["etag"]
        if asked.shape is not None and not asked.paged:
            return asked.shape.model_validate_json(answer.content, extra="ignore")
        if answer.status_code == 204:
            return None
        return answer.json() if "json" in answer.headers.get("content-type", "") else answer.content

    def _lines(self, bodies: Iterable[Fields]) -> tuple[dict[str, Any], Iterator[bytes]]:
        """Return how a sweep is asked, and the lines that are sent."""
        how = {"headers": self._headers | {"Content-Type": _NDJSON}, "timeout": None}
        return how, (json.dumps(_fields(body)).encode() + b"\n" for body in bodies)


class Client(_Asking):
    """A connection to a server; close it, or use it in a ``with``.

    Every operation of the interface is a method of its operation id, as ``correct``, ``list_doughs`` or
    ``put_lot``: it takes the parts of the address, the body and the query, and returns the answer by its
    shape. A list yields its items, page by page. What was read or written is changed or forgotten as it was
    seen then: changed by another in between, it is refused with the code ``stale``.

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
        super().__init__(key)
        self._http = http or httpx.Client(base_url=address, timeout=_SECONDS)

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
        how, sent = self._lines(bodies)
        with self._http.stream("POST", "/v1/sweeps", content=sent, **how) as answer:
            if answer.status_code >= 400:
                answer.read()
            _refuse(answer)
            for line in answer.iter_lines():
                yield _ENTRY.validate_json(line, extra="ignore")

    def _do(self, asked: Operation, given: Fields) -> Any:
        if asked.paged:
            return self._items(asked, dict(given))
        sent = self._sent(asked, given)
        return self._read(asked, sent["url"], self._http.request(**sent))

    def _items(self, asked: Operation, given: dict[str, Any]) -> Iterator[Any]:
        following: str | None = ""
        while following is not None:
            sent = _after(self._sent(asked, given), following)
            page = self._read(asked, sent["url"], self._http.request(**sent))
            yield from _shaped(asked, page)
            following = page["next"]


class AsyncClient(_Asking):
    """A connection to a server for programs that do not wait; as ``Client``, each method awaited.

    A list is gone through with ``async for``.

    Parameters
    ----------
    address : str
        As in ``http://127.0.0.1:8000``.
    key : str, optional
        The key of the shop.
    http : httpx.AsyncClient, optional
        What sends the requests, with a base address of its own; default: a new one.

    Raises
    ------
    ProblemError
        By every method: the server refused the request or could not answer it.
    """

    def __init__(
        self,
        address: str = "http://127.0.0.1:8000",
        key: str | None = None,
        http: httpx.AsyncClient | None = None,
    ) -> None:
        super().__init__(key)
        self._http = http or httpx.AsyncClient(base_url=address, timeout=_SECONDS)

    async def __aenter__(self) -> Self:
        """Use the connection in an ``async with``."""
        return self

    async def __aexit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Close it."""
        await self.close()

    async def close(self) -> None:
        """Close the connection."""
        await self._http.aclose()

    async def sweep_lines(self, bodies: Iterable[Fields]) -> AsyncIterator[Answered | Refused]:
        """Ask any number of tasks, and yield each answer or problem as it comes, in the order asked."""
        how, sent = self._lines(bodies)

        async def content() -> AsyncIterator[bytes]:
            for line in sent:
                yield line

        async with self._http.stream("POST", "/v1/sweeps", content=content(), **how) as answer:
            if answer.status_code >= 400:
                await answer.aread()
            _refuse(answer)
            async for line in answer.aiter_lines():
                yield _ENTRY.validate_json(line, extra="ignore")

    def _do(self, asked: Operation, given: Fields) -> Any:
        return self._items(asked, dict(given)) if asked.paged else self._one(asked, given)

    async def _one(self, asked: Operation, given: Fields) -> Any:
        sent = self._sent(asked, given)
        return self._read(asked, sent["url"], await self._http.request(**sent))

    async def _items(self, asked: Operation, given: dict[str, Any]) -> AsyncIterator[Any]:
        following: str | None = ""
        while following is not None:
            sent = _after(self._sent(asked, given), following)
            page = self._read(asked, sent["url"], await self._http.request(**sent))
            for item in _shaped(asked, page):
                yield item
            following = page["next"]


def _after(sent: dict[str, Any], cursor: str) -> dict[str, Any]:
    return sent | {"params": sent["params"] | ({"after": cursor} if cursor else {})}


def _shaped(asked: Operation, page: Fields) -> Iterator[Any]:
    for item in page["items"]:
        yield (
            item if asked.shape is None else asked.shape.model_validate_json(json.dumps(item), extra="ignore")
        )


def _refuse(answer: httpx.Response) -> None:
    """Raise the problem that was answered, if one was.

    Raises
    ------
    ProblemError
    """
    if answer.status_code >= 400:
        raise ProblemError(answer.json())


def _body(thing: Any) -> dict[str, Any]:
    """Return how a body is sent: JSON, or a notebook's tables in a zip as they are."""
    if isinstance(thing, bytes):
        return {"content": thing, "headers": {"Content-Type": "application/zip"}}
    return {"json": _fields(thing)}


def _fields(request: BaseModel | Fields) -> Fields:
    if isinstance(request, BaseModel):
        return request.model_dump(mode="json", exclude_unset=True)
    return request


def _method(asked: Operation) -> Callable[..., Any]:
    needed = len(asked.takes) - len(asked.query)
    kind, empty = inspect.Parameter.POSITIONAL_OR_KEYWORD, inspect.Parameter.empty
    named = [
        inspect.Parameter(name, kind, default=empty if place < needed else None)
        for place, name in enumerate(asked.takes)
    ]
    signature = inspect.Signature([inspect.Parameter("self", kind), *named])

    def ask(self: Any, *words: Any, **more: Any) -> Any:
        return self._do(asked, signature.bind(self, *words, **more).arguments)

    ask.__signature__ = signature  # type: ignore[attr-defined]
    ask.__name__ = ask.__qualname__ = asked.name
    ask.__doc__ = f"{asked.about}.\n\n``{asked.method} {asked.path}``"
    return ask


for _operation in OPERATIONS:
    setattr(_Asking, _operation.name, _method(_operation))
for _name, _of in _ALSO.items():
    setattr(_Asking, _name, getattr(_Asking, _of))
