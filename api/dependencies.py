"""What endpoints are given: the server, whose notebook it is, how the answer and the change are asked for."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any, TypeVar

from fastapi import APIRouter, Depends, Header, Security
from fastapi.security import APIKeyCookie, HTTPBearer
from starlette.requests import Request

from advisor.errors import Fault, InvalidRequest, NotInstalled, pointer_part
from advisor.recipe.notebook import Notebook
from api.http.answering import chosen
from api.http.route import Route, raises
from api.notebook.access import ShopAccess
from api.notebook.callers import COOKIE, Caller, Role
from api.notebook.errors import IfMatchNeeded, KeyNeeded, RoleNeeded, Stale, Storage
from api.notebook.precondition import Precondition
from api.server import Server, server_of

if TYPE_CHECKING:
    from api.notebook.shop import Shop as Notes

Result = TypeVar("Result")
_KEYS = [
    Security(HTTPBearer(scheme_name="key", description="The key of the shop.", auto_error=False)),
    Security(
        APIKeyCookie(
            name=COOKIE,
            scheme_name="device",
            description="A browser let in; over HTTPS the name begins with __Host-.",
            auto_error=False,
        )
    ),
]
Here = Annotated[Server, Depends(server_of)]


@dataclass(frozen=True)
class CallerShop:
    """The notebook of the shop a request comes from."""

    access: ShopAccess
    request: Request

    async def read(self, work: Callable[["Notes"], Result], *, least: Role = "read") -> Result:
        """Return what ``work`` reads in the notebook, for a key of this role or more.

        Raises
        ------
        NotInstalled, RoleNeeded, Storage, Busy
        """
        return await self.access.read(self.request, work, least=least)

    async def write(
        self, work: Callable[["Notes"], Result], *, makes: bool = True, least: Role = "bench"
    ) -> Result:
        """Return what ``work`` writes in the notebook: all of it, or none.

        ``makes`` says whether a notebook is to be made where there is none yet.

        Raises
        ------
        NotInstalled, RoleNeeded, Storage, Busy
        """
        return await self.access.write(self.request, work, makes=makes, least=least)


@raises(KeyNeeded, Storage)
async def admitted(request: Request, here: Here) -> None:
    """Refuse a caller whose key is not valid here.

    Raises
    ------
    KeyNeeded, Storage, Busy
    """
    await here.access.admit(request)
    _count(request)


@raises(NotInstalled, KeyNeeded, RoleNeeded, Storage)
async def shop_of(request: Request, here: Here) -> CallerShop:
    """Return the notebook of the shop a request comes from.

    Raises
    ------
    KeyNeeded, Storage, Busy
    """
    await admitted(request, here)
    return CallerShop(here.access, request)


@raises(KeyNeeded, Storage)
async def known_by(request: Request, here: Here) -> Notebook | None:
    """Return what the shop a request comes from knows; None where nothing is stored.

    Raises
    ------
    KeyNeeded, Storage, Busy
    """
    known = await here.access.of(request)
    _count(request)
    return known


def _count(request: Request) -> None:
    """Let a request count for its caller, now that it is known who that is."""
    caller: Caller | None = getattr(request.state, "caller", None)
    if caller is not None:
        request.state.counted.as_caller(caller.name)


async def accepted(request: Request) -> str:
    """Return the form of the answer the caller likes best of those the route describes.

    Raises
    ------
    NotAcceptable
    """
    form = request.state.form = chosen(request, request.scope["route"].forms)
    return form


async def known_query(request: Request) -> None:
    """Refuse an address whose query holds what the route does not know, or holds it twice.

    Raises
    ------
    InvalidRequest
    """
    names = [name for name, _ in request.query_params.multi_items()]
    known = request.scope["route"].asked_for
    faults = [
        Fault(f"?{pointer_part(name)}", "stands twice", "keep one of them")
        if name in known
        else Fault(f"?{pointer_part(name)}", "Extra inputs are not permitted")
        for name in dict.fromkeys(names)
        if name not in known or names.count(name) > 1
    ]
    if faults:
        raise InvalidRequest("A parameter of the query is wrong.", faults)


@raises(Stale, IfMatchNeeded)
async def precondition(
    if_match: Annotated[
        str | None, Header(description="The ETag of what is changed; needed where it exists.")
    ] = None,
    if_none_match: Annotated[str | None, Header(description="* makes only what is new.")] = None,
) -> Precondition:
    """Return what a writer says of the state it knows.

    Raises
    ------
    Stale
    """
    return Precondition.of(if_match, if_none_match)


Shop = Annotated[CallerShop, Depends(shop_of)]
Known = Annotated[Notebook | None, Depends(known_by)]
Form = Annotated[str, Depends(accepted)]
Condition = Annotated[Precondition, Depends(precondition)]


def routes(tag: str, who: Callable[..., Any] | None = None) -> APIRouter:
    """Return a router; ``who`` finds out who asks, before anything else of a request is looked at."""
    asked = [] if who is None else [Depends(who), *_KEYS]
    return APIRouter(
        route_class=Route,
        tags=[tag],
        dependencies=[*asked, Depends(accepted), Depends(known_query)],
        responses={422: {"description": "Refused."}},
    )
