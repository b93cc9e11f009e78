"""Hands out the keys shops are told apart by, and the cookie of a shared bench."""

import dataclasses
import re
from typing import Annotated, Any

from fastapi import FastAPI
from pydantic import Field
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from advisor.errors import InvalidRequest, NotInstalled
from advisor.recipe.request import read_request
from advisor.schema.base import Asked, Shape
from advisor.schema.server import Page
from api.http.answering import json_answer
from api.http.errors import NotFound
from api.http.negotiation import chosen
from api.http.reading import read_bytes, read_json, read_query
from api.notebook.access import ShopAccess
from api.notebook.answers import gone
from api.notebook.callers import COOKIE, Role
from api.notebook.errors import Conflict, KeyNeeded, RoleNeeded, Storage
from api.operation import Operation
from api.settings import Settings
from api.shapes import Asking

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


class NewKeyAnswer(Shape):
    """A key; it is shown this once and kept only as a digest."""

    id: str
    key: str
    shop: str
    label: str
    role: Role
    ends_at: int | None
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


def operations(settings: Settings, access: ShopAccess) -> list[Operation]:
    """Return the operations on keys and shops."""

    def told(made: Any) -> Response:
        answer = NewKeyAnswer(**dataclasses.asdict(made), rules_version=access.rulebook.edition)
        response = json_answer(answer, 201)
        response.headers["Location"] = f"/v1/keys/{made.id}"
        return response

    async def list_keys(request: Request) -> Response:
        chosen(request)
        read_query(request, Asking)
        rows = await access.read(request, lambda shop: shop.keys(), least="owner")
        items = tuple(KeyItem.model_validate(row) for row in rows)
        return json_answer(KeysPage(items=items, next=None, rules_version=access.rulebook.edition))

    async def make_key(request: Request) -> Response:
        chosen(request)
        read_query(request, Asking)
        wanted: KeyRequest = read_request(KeyRequest, await read_json(request, settings.body_bytes_at_most))
        return told(
            await access.write(
                request,
                lambda shop: shop.new_key(access.now, **wanted.model_dump(exclude_none=True)),
                least="owner",
            )
        )

    async def make_shop(request: Request) -> Response:
        chosen(request)
        read_query(request, Asking)
        wanted: ShopRequest = read_request(ShopRequest, await read_json(request, settings.body_bytes_at_most))
        return told(
            await access.write(request, lambda shop: shop.new_shop(wanted.name, access.now), least="owner")
        )

    async def rotate_key(request: Request, key_id: str) -> Response:
        chosen(request)
        read_query(request, Asking)
        return told(
            await access.write(
                request, lambda shop: shop.rotate_key(key_id, access.now), makes=False, least="owner"
            )
        )

    async def revoke_key(request: Request, key_id: str) -> Response:
        chosen(request)
        read_query(request, Asking)
        await access.write(
            request, lambda shop: shop.revoke_key(key_id, access.now), makes=False, least="owner"
        )
        return gone()

    errors = (NotInstalled, KeyNeeded, RoleNeeded, Storage, InvalidRequest)
    example: dict[str, Any] = {**_EXAMPLE, "rules_version": access.rulebook.edition}
    return [
        Operation(
            method="GET",
            path="/v1/keys",
            operation_id="list_keys",
            summary="Read which keys your shop has; never the keys themselves",
            tag="Keys",
            endpoint=list_keys,
            answers={200: KeysPage},
            errors=errors,
            example=lambda: {
                "items": [
                    {
                        "id": _ID,
                        "label": "bench",
                        "role": "bench",
                        "made_at": 1930000000,
                        "used_at": 1930003600,
                        "ends_at": None,
                        "revoked_at": None,
                    }
                ],
                "next": None,
                "rules_version": access.rulebook.edition,
            },
        ),
        Operation(
            method="POST",
            path="/v1/keys",
            operation_id="make_key",
            summary="Make a key for your shop, the first for its owner; from it on every call needs one",
            tag="Keys",
            endpoint=make_key,
            request=KeyRequest,
            sent=lambda: {"label": "bench"},
            answers={201: NewKeyAnswer},
            errors=errors,
            example=lambda: example,
        ),
        Operation(
            method="POST",
            path="/v1/keys/{key_id}/rotations",
            operation_id="rotate_key",
            summary="Put a new key in the place of one, which is worthless from then on",
            tag="Keys",
            endpoint=rotate_key,
            parameters={"key_id": _ID},
            answers={201: NewKeyAnswer},
            errors=(*errors, NotFound),
            example=lambda: example,
        ),
        Operation(
            method="DELETE",
            path="/v1/keys/{key_id}",
            operation_id="revoke_key",
            summary="Make a key worthless",
            tag="Keys",
            endpoint=revoke_key,
            parameters={"key_id": _ID},
            answers={204: None},
            errors=(*errors, NotFound, Conflict),
        ),
        Operation(
            method="POST",
            path="/v1/shops",
            operation_id="make_shop",
            summary="Make another shop with a notebook of its own; only the first shop may",
            tag="Keys",
            endpoint=make_shop,
            request=ShopRequest,
            sent=lambda: {"name": "Second bench"},
            answers={201: NewKeyAnswer},
            errors=(*errors, NotFound),
            example=lambda: {**example, "label": "Second bench"},
        ),
    ]


def add_join(app: FastAPI, access: ShopAccess) -> None:
    """Serve /join, where a one-time link becomes the cookie of one device.

    The link is used up only when its button is pressed: programs that look ahead at links do no harm.
    """

    async def ask(request: Request) -> Response:
        code = request.query_params.get("code", "")
        if not _CODE.fullmatch(code):
            raise KeyNeeded("The link is not whole; open it as it was printed.")
        return HTMLResponse(_PAGE.format(code=code))

    async def join(request: Request) -> Response:
        sent = (await read_bytes(request, _MOST_CODE_BYTES)).decode("ascii", "replace")
        made = await access.join(request, sent.removeprefix("code="), "shared link")
        response = RedirectResponse("/", 303)
        response.set_cookie(
            COOKIE,
            made.key,
            max_age=_COOKIE_SECONDS,
            httponly=True,
            samesite="strict",
            secure=request.url.scheme == "https",
        )
        return response

    app.add_route("/join", ask, ["GET"], include_in_schema=False)
    app.add_route("/join", join, ["POST"], include_in_schema=False)
