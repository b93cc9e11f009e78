"""A route of FastAPI whose body is read strictly, and only when whoever asks is known."""

from collections.abc import Callable, Iterable, Iterator, Mapping
from functools import partial
from typing import Any, TypeVar

from anyio import to_thread
from fastapi import Body
from fastapi.dependencies.models import Dependant
from fastapi.openapi.models import Example
from fastapi.routing import APIRoute
from fastapi.utils import create_model_field
from pydantic import BaseModel
from starlette.requests import Request

from advisor.errors import AdvisorError, InvalidRequest
from advisor.recipe.request import read_request
from api.http.answering import AS_CSV, JSON, in_forms, shape_of_list
from api.http.errors import (
    Busy,
    ForeignOrigin,
    Internal,
    InvalidJSON,
    NotAcceptable,
    NotFound,
    NotJSON,
    TooLarge,
    TooMany,
    WrongHost,
)
from api.http.reading import declared, parse_json, read_bytes
from api.settings import Settings

OFF_LOOP_BYTES = 4 * 1024
Examples = dict[str, Example]


class Sent:
    """Reads the body of a request as a shape, in the loop where it is small and beside it where it is large.

    Parameters
    ----------
    shape : type
        What the body is described as, and read as unless ``read`` says otherwise.
    examples : mapping
        Bodies by name, each with ``summary`` and ``value``.
    takes : mapping
        Other media types: what each is, for the description.
    parse : mapping
        How the bytes of each other media type become a value; without, the endpoint reads them itself
        and is given None.
    read : callable, optional
        Makes the value the thing that is asked.
    most_bytes : callable
        Returns the size of a body at most [bytes].
    raises : tuple
        What is wrong with the thing itself, for the description.
    """

    def __init__(
        self,
        shape: type[BaseModel],
        examples: Examples,
        *,
        takes: Mapping[str, str] | None = None,
        parse: Mapping[str, Callable[[bytes], Any]] | None = None,
        read: Callable[[Any], Any] | None = None,
        most_bytes: Callable[[Settings], int] = lambda settings: settings.body_bytes_at_most,
        raises: tuple[type[AdvisorError], ...] = (),
    ) -> None:
        self.raises = (InvalidJSON, NotJSON, TooLarge, InvalidRequest, *raises)
        self.examples = examples
        self.takes = takes or {}
        self._parse = {JSON: parse_json, **(parse or {})}
        self._read = read or partial(read_request, shape)
        self._most_bytes = most_bytes
        info: Any = Body(openapi_examples=examples)
        info.annotation = shape
        self.described = create_model_field("body", shape, field_info=info)

    async def __call__(self, request: Request) -> Any:
        """Return what a request asks.

        Raises
        ------
        NotJSON, TooLarge, InvalidJSON, InvalidRequest
        """
        parse = self._parse.get(declared(request, (JSON, *self.takes)))
        if parse is None:
            return None
        raw = await read_bytes(request, self._most_bytes(request.app.state.server.settings))
        request.state.large = len(raw) > OFF_LOOP_BYTES
        if request.state.large:
            return await to_thread.run_sync(lambda: self._read(parse(raw)))
        return self._read(parse(raw))


Function = TypeVar("Function", bound=Callable[..., Any])
_ANY: tuple[type[AdvisorError], ...] = (NotAcceptable, InvalidRequest, WrongHost, TooMany, Busy, Internal)
_WORDS = {200: "The answer.", 201: "It is new.", 204: "It is gone."}


def raises(*errors: type[AdvisorError]) -> Callable[[Function], Function]:
    """Note on an endpoint or a dependency what it may raise, for the description of the API."""

    def noted(function: Function) -> Function:
        function.raises = errors  # type: ignore[attr-defined]
        return function

    return noted


class Route(APIRoute):
    """A route that knows what it takes, offers and may raise; who asks is a dependency before the body's.

    FastAPI reads a declared body before any dependency. Here the body is the dependency ``Sent``, and
    declared only after FastAPI has laid out how a request is handled: for the description.
    """

    def __init__(self, path: str, endpoint: Callable[..., Any], **options: Any) -> None:
        if shape_of_list(options.get("response_model")) is not None:
            options["responses"][200]["content"] |= in_forms(AS_CSV)
        super().__init__(path, endpoint, **options)
        self.response_description = _WORDS[self.status_code or 200]
        self.sent = next((one.call for one in _below(self.dependant) if isinstance(one.call, Sent)), None)
        if self.sent is not None:
            self.body_field = self.sent.described
        forms = self.responses.get(200, {}).get("content", {})
        own = getattr(self.response_class, "media_type", None) or JSON
        self.forms = tuple(dict.fromkeys((own, *forms)))
        self.asked_for = frozenset(_query_names(self.dependant))

    @property
    def errors(self) -> tuple[type[AdvisorError], ...]:
        """What a request to this route may be refused with."""
        found = [*_ANY, *getattr(self.endpoint, "raises", ())]
        for one in _below(self.dependant):
            found += getattr(one.call, "raises", ())
        if self.methods != {"GET"}:
            found.append(ForeignOrigin)
        if self.param_convertors:
            found.append(NotFound)
        return tuple(dict.fromkeys(found))


def _below(dependant: Dependant) -> Iterator[Dependant]:
    for one in dependant.dependencies:
        yield one
        yield from _below(one)


def _query_names(dependant: Dependant) -> Iterable[str]:
    for one in (dependant, *_below(dependant)):
        for field in one.query_params:
            yield from field.field_info.annotation.model_fields  # type: ignore[union-attr]
