"""Keeps a shop's own materials."""

from typing import Any

from starlette.requests import Request
from starlette.responses import Response

from advisor.errors import Fault, InvalidRequest, NotInstalled
from advisor.recipe.request import read_request
from advisor.schema.material import Material
from api.http.errors import NotFound
from api.http.negotiation import chosen
from api.http.reading import read_json, read_query
from api.notebook.access import ShopAccess
from api.notebook.answers import gone, stored, text_of
from api.notebook.errors import IfMatchNeeded, KeyNeeded, Stale, Storage
from api.notebook.precondition import CHANGING, MAKING, Precondition
from api.operation import Operation
from api.settings import Settings
from api.shapes import Asking

_EXAMPLE: dict[str, Any] = {
    "key": "nettle-powder",
    "name": "Nettle leaf, ground",
    "form": "powder",
    "roles": ["filler", "featured"],
    "composition": {"Urtica Dioica Leaf Powder": 100.0},
    "uptake": {"typical": 0.62, "low": 0.5, "high": 0.75, "basis": "own"},
}


def operations(settings: Settings, access: ShopAccess) -> list[Operation]:
    """Return the operations on a shop's own materials."""

    async def put_material(request: Request, key: str) -> Response:
        chosen(request)
        read_query(request, Asking)
        material: Material = read_request(Material, await read_json(request, settings.body_bytes_at_most))
        if material.key != key:
            raise InvalidRequest(
                "The material has another key than its address.",
                [Fault("/key", "is not the key of the address")],
            )
        condition, body = Precondition.of(request.headers), text_of(material)
        new = await access.write(request, lambda shop: shop.put("materials", (key,), body, condition))
        return stored(body, new=new, address=f"/v1/materials/{key}")

    async def delete_material(request: Request, key: str) -> Response:
        chosen(request)
        read_query(request, Asking)
        condition = Precondition.of(request.headers)
        await access.write(request, lambda shop: shop.remove("materials", (key,), condition), makes=False)
        return gone()

    errors = (NotInstalled, KeyNeeded, Stale, IfMatchNeeded, Storage)
    return [
        Operation(
            method="PUT",
            path="/v1/materials/{key}",
            operation_id="put_material",
            summary="Keep a material of your own; it comes before the library's of the same key",
            tag="Notebook",
            endpoint=put_material,
            parameters={"key": _EXAMPLE["key"]},
            request=Material,
            sent=lambda: _EXAMPLE,
            headers=MAKING,
            answers={201: Material, 200: Material},
            errors=errors,
            example=lambda: _EXAMPLE,
        ),
        Operation(
            method="DELETE",
            path="/v1/materials/{key}",
            operation_id="delete_material",
            summary="Forget a material of your own",
            tag="Notebook",
            endpoint=delete_material,
            parameters={"key": _EXAMPLE["key"]},
            headers=CHANGING,
            answers={204: None},
            errors=(*errors, InvalidRequest, NotFound),
        ),
    ]
