"""The dependency that reads a body strictly, and tells FastAPI what to describe."""

from collections.abc import Callable, Mapping
from functools import partial
from typing import Any

from anyio import to_thread
from fastapi import Body
from fastapi._compat import ModelField
from fastapi.openapi.models import Example
from fastapi.utils import create_model_field
from pydantic import BaseModel
from starlette.requests import Request

from advisor.errors import AdvisorError, InvalidRequest
from advisor.recipe.request import read_request
from api.http.errors import InvalidJSON, NotJSON, TooLarge
from api.http.negotiation import JSON
from api.http.reading import declared, parse_json, read_bytes
from api.settings import Settings

OFF_LOOP_BYTES = 4 * 1024
Examples = dict[str, Example]


def _as_set(settings: Settings) -> int:
    return settings.body_bytes_at_most


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
    """

    raises: tuple[type[AdvisorError], ...] = (InvalidJSON, NotJSON, TooLarge, InvalidRequest)

    def __init__(
        self,
        shape: type[BaseModel],
        examples: Examples,
        *,
        takes: Mapping[str, str] | None = None,
        parse: Mapping[str, Callable[[bytes], Any]] | None = None,
        read: Callable[[Any], Any] | None = None,
        most_bytes: Callable[[Settings], int] = _as_set,
    ) -> None:
        self.examples = examples
        self.takes = takes or {}
        self._parse = {JSON: parse_json, **(parse or {})}
        self._read = read or partial(read_request, shape)
        self._most_bytes = most_bytes
        info: Any = Body(openapi_examples=examples)
        info.annotation = shape
        self.described: ModelField = create_model_field("body", shape, field_info=info)

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
