"""A route of FastAPI whose body is read strictly, and only when whoever asks is known."""

from collections.abc import Callable, Iterable, Iterator
from typing import Any, TypeVar

from fastapi.dependencies.models import Dependant
from fastapi.routing import APIRoute

from advisor.errors import AdvisorError, InvalidRequest
from api.http.answering import in_forms, shape_of_list
from api.http.errors import Busy, ForeignOrigin, Internal, NotAcceptable, NotFound, TooMany, WrongHost
from api.http.negotiation import AS_CSV, JSON
from api.http.sent import Sent

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
