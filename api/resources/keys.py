"""The keys shops are told apart by, and the cookie of a shared bench."""

import re
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Path
from pydantic import Field
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from advisor.schema.base import Asked, Shape
from advisor.schema.server import Page
from api.dependencies import Here, Shop, routes, shop_of
from api.http.answering import STILL, gone, json_answer, kept_answer, shown
from api.http.errors import NotFound
from api.http.reading import read_bytes
from api.http.route import Sent, raises
from api.notebook.callers import NewKey, Role, cookie_of, is_https
from api.notebook.errors import Conflict, KeyNeeded
from api.server import Server

Called = Annotated[
    str, Field(strict=True, max_length=200, pattern=r"^[^\x00-\x1f\x7f]*[^\s\x00-\x1f\x7f][^\x00-\x1f\x7f]*$")
]
_MOST_CODE_BYTES = 500
_COOKIE_SECONDS = 365 * 24 * 3600
_ID = "b1f0c2d3e4f5a697"
_CODE = re.compile(r"[A-Za-z0-9_-]{20,100}")
_PAGE = (
    '<!doctype html><html lang="en"><head><meta charset="utf-8">'
    '<meta name="viewport" content="width=device-width, initial-scale=1"><title>Use this bench</title></head>'
    "<body><main><h1>Use this bench</h1><p>The link works once, on one device.</p>"
    '<form method="post" action="/join"><input type="hidden" name="code" value="{code}">'
    "<button>Open the notebook on this device</button></form></main></body></html>"
)
_EXAMPLE: dict[str, Any] = {
    "id": _ID,
    "key": "shown-once-43-characters-of-letters-digits-",
    "shop": "local",
    "label": "bench",
    "role": "owner",
    "ends_at": None,
    "rules_version": "2031.1",
}


class KeyRequest(Asked):
    """What a key is for, as its owner calls it; what it may do; and its end, if it has one.

    ``read`` looks and calculates, ``bench`` writes doughs, materials and lots too, ``owner`` (the one where
    nothing is said) does all; ``ends_at`` in seconds since 1970.
    """

    label: Called
    role: Role | None = None
    ends_at: Annotated[int, Field(strict=True, ge=0, le=253_402_300_799)] | None = None


class ShopRequest(Asked):
    """What a shop is called."""

    name: Called


class NewKeyAnswer(NewKey):
    """A key; it is shown this once and kept only as a digest."""

    rules_version: str


class KeyItem(Shape):
    """A key without its secret; times in seconds since 1970.

    ``used_at`` is right within an hour, null where the key was never used; ``ends_at`` is null where it has
    no end, ``revoked_at`` while it was not revoked.
    """

    id: str
    label: str
    role: Role
    made_at: int
    used_at: int | None
    ends_at: int | None
    revoked_at: int | None


class KeysPage(Page):
    """The keys of a shop, the oldest first."""

    items: tuple[KeyItem, ...]


_ITEM = {
    "id": _ID,
    "label": "bench",
    "role": "bench",
    "made_at": 1930000000,
    "used_at": 1930003600,
    "ends_at": None,
    "revoked_at": None,
}
_FOR_A_KEY = Sent(KeyRequest, {"example": {"summary": "A key for a bench", "value": {"label": "bench"}}})
_FOR_A_SHOP = Sent(ShopRequest, {"example": {"summary": "Another shop", "value": {"name": "Second bench"}}})
Id = Annotated[str, Path(openapi_examples={"example": {"value": _ID}})]
router = routes("Keys", shop_of)


def _new_key_answer(here: Server, made: NewKey) -> Response:
    answer = NewKeyAnswer(**dict(made), rules_version=here.rulebook.edition)
    response = json_answer(answer, 201)
    response.headers["Location"] = f"/v1/keys/{made.id}"
    return response


@router.get(
    "/v1/keys",
    operation_id="list_keys",
    summary="Read which keys your shop has; never the keys themselves",
    response_model=KeysPage,
    responses={200: shown({"items": [_ITEM], "next": None, "rules_version": "2031.1"}), **STILL},
)
async def list_keys(request: Request, here: Here, shop: Shop) -> Response:
    """Read which keys a shop has."""
    rows = await shop.read(lambda notebook: notebook.keys(), least="owner")
    items = tuple(KeyItem.model_validate(row) for row in rows)
    return kept_answer(request, KeysPage(items=items, next=None, rules_version=here.rulebook.edition))


@router.post(
    "/v1/keys",
    operation_id="make_key",
    summary="Make a key for your shop, the first for its owner; from it on every call needs one",
    status_code=201,
    response_model=NewKeyAnswer,
    responses={201: shown(_EXAMPLE)},
)
async def make_key(here: Here, shop: Shop, wanted: Annotated[Any, Depends(_FOR_A_KEY)]) -> Response:
    """Make a key."""
    made = await shop.write(
        lambda notebook: notebook.new_key(here.access.now, **wanted.model_dump(exclude_none=True)),
        least="owner",
    )
    return _new_key_answer(here, made)


@router.post(
    "/v1/shops",
    operation_id="make_shop",
    summary="Make another shop with a notebook of its own; only the first shop may",
    status_code=201,
    response_model=NewKeyAnswer,
    responses={201: shown({**_EXAMPLE, "label": "Second bench"})},
)
@raises(NotFound)
async def make_shop(here: Here, shop: Shop, wanted: Annotated[Any, Depends(_FOR_A_SHOP)]) -> Response:
    """Make another shop."""
    made = await shop.write(lambda notebook: notebook.new_shop(wanted.name, here.access.now), least="owner")
    return _new_key_answer(here, made)


@router.post(
    "/v1/keys/{key_id}/rotations",
    operation_id="rotate_key",
    summary="Put a new key in the place of one, which is worthless from then on",
    status_code=201,
    response_model=NewKeyAnswer,
    responses={201: shown(_EXAMPLE)},
)
async def rotate_key(here: Here, shop: Shop, key_id: Id) -> Response:
    """Put a new key in the place of one."""
    made = await shop.write(
        lambda notebook: notebook.rotate_key(key_id, here.access.now), makes=False, least="owner"
    )
    return _new_key_answer(here, made)


@router.delete(
    "/v1/keys/{key_id}",
    operation_id="revoke_key",
    summary="Make a key worthless",
    status_code=204,
    response_class=Response,
)
@raises(Conflict)
async def revoke_key(here: Here, shop: Shop, key_id: Id) -> Response:
    """Make a key worthless."""
    await shop.write(
        lambda notebook: notebook.revoke_key(key_id, here.access.now), makes=False, least="owner"
    )
    return gone()


join = APIRouter(include_in_schema=False)


@join.get("/join")
async def ask_to_join(request: Request) -> Response:
    """Show the button that uses a one-time link up: programs that look ahead at links do no harm."""
    code = request.query_params.get("code", "")
    if not _CODE.fullmatch(code):
        raise KeyNeeded("The link is not whole; open it as it was printed.")
    return HTMLResponse(_PAGE.format(code=code))


@join.post("/join")
async def join_bench(request: Request, here: Here) -> Response:
    """Change a one-time link for the cookie of one device."""
    sent = (await read_bytes(request, _MOST_CODE_BYTES)).decode("ascii", "replace")
    made = await here.access.join(request, sent.removeprefix("code="), "shared link")
    response = RedirectResponse("/", 303)
    response.set_cookie(
        cookie_of(request),
        made.key,
        max_age=_COOKIE_SECONDS,
        httponly=True,
        samesite="strict",
        secure=is_https(request),
    )
    return response
