"""What an operation of this API is."""

from collections.abc import Awaitable, Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from pydantic import BaseModel
from starlette.responses import Response

from advisor.errors import AdvisorError

Endpoint = Callable[..., Awaitable[Response]]


@dataclass(frozen=True)
class Operation:
    """One method at one address, with all that its description needs.

    Parameters
    ----------
    method, path : str
        As in the router; parts in braces are parameters.
    operation_id : str
        Never changes: clients are generated from it.
    endpoint : async function
        Takes the request and, by name, the parameters of the path.
    answers : mapping
        Shape of the body by status; None where there is no body.
    errors : tuple
        What it may raise besides what any operation may.
    request : type, optional
        Shape of the JSON body.
    sent : function, optional
        Returns an example of the body where samples/ has none.
    headers : mapping
        Headers of the request that change what it does, with what each is.
    takes : mapping
        Media types of the body besides JSON, with what each is.
    query : type, optional
        Shape of the query.
    parameters : mapping
        An example of each parameter of the path and of the query.
    forms : mapping
        Media types of the answer besides JSON, with what each is.
    example : function, optional
        Returns an example of the first answer's body; operations with a body have theirs in samples/.
    """

    method: str
    path: str
    operation_id: str
    summary: str
    tag: str
    endpoint: Endpoint
    answers: Mapping[int, type[BaseModel] | None]
    errors: tuple[type[AdvisorError], ...] = ()
    request: type[BaseModel] | None = None
    sent: Callable[[], Any] | None = None
    headers: Mapping[str, str] = field(default_factory=dict)
    takes: Mapping[str, str] = field(default_factory=dict)
    query: type[BaseModel] | None = None
    parameters: Mapping[str, str | int] = field(default_factory=dict)
    forms: Mapping[str, str] = field(default_factory=dict)
    example: Callable[[], Any] | None = None
