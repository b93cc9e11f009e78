"""Keeps the lots of a material."""

from typing import Any

from starlette.requests import Request
from starlette.responses import Response

from advisor.errors import InvalidRequest, NotInstalled
from advisor.recipe.request import read_request
from advisor.schema.lot import Lot, LotRow
from advisor.schema.server import Page
from api.http.answering import kept_answer
from api.http.errors import NotFound
from api.http.negotiation import chosen
from api.http.paging import page
from api.http.reading import read_json, read_query
from api.notebook.access import ShopAccess
from api.notebook.answers import gone, kept_text, stored, text_of
from api.notebook.errors import IfMatchNeeded, KeyNeeded, Stale, Storage
from api.notebook.precondition import CHANGING, MAKING, Precondition
from api.operation import Operation
from api.settings import Settings
from api.shapes import Asking, PageQuery

_EXAMPLE: dict[str, Any] = {
    "active": 31.2,
    "price_per_kg": 4.1,
    "received": "2031-03-02",
    "expires": "2033-03-01",
    "stock_grams": 2400.0,
}
_PLACE = {"key": "betaine-30", "lot": "B-0417"}


class LotsPage(Page):
    """The lots of a material by name."""

    items: tuple[LotRow, ...]


def operations(settings: Settings, access: ShopAccess) -> list[Operation]:
    """Return the operations on lots."""

    async def known(request: Request, key: str) -> None:
        notebook = await access.of(request)
        if (access.rulebook.ingredients.get(key) if notebook is None else notebook.get(key)) is None:
            raise NotFound("There is no material of this key.")

    async def list_lots(request: Request, key: str) -> Response:
        chosen(request)
        query = read_query(request, PageQuery)
        rows = await access.read(request, lambda shop: shop.items("lots", (key,)))
        lots = [
            LotRow.model_validate(
                {**Lot.model_validate_json(body).model_dump(), "material": name[0], "lot": name[1]}
            )
            for name, body in rows
        ]
        items, following = page(lots, lambda lot: lot.lot, query.after, query.limit)
        found = LotsPage(items=items, next=following, rules_version=access.rulebook.edition)
        return kept_answer(request, found)

    async def get_lot(request: Request, key: str, lot: str) -> Response:
        chosen(request)
        read_query(request, Asking)
        return kept_text(request, await access.read(request, lambda shop: shop.get("lots", (key, lot))))

    async def put_lot(request: Request, key: str, lot: str) -> Response:
        chosen(request)
        read_query(request, Asking)
        body = text_of(read_request(Lot, await read_json(request, settings.body_bytes_at_most)))
        await known(request, key)
        read_request(LotRow, {"material": key, "lot": lot})
        condition = Precondition.of(request.headers)
        new = await access.write(request, lambda shop: shop.put("lots", (key, lot), body, condition))
        return stored(body, new=new, address=request.url.path)

    async def delete_lot(request: Request, key: str, lot: str) -> Response:
        chosen(request)
        read_query(request, Asking)
        condition = Precondition.of(request.headers)
        await access.write(request, lambda shop: shop.remove("lots", (key, lot), condition), makes=False)
        return gone()

    kept = (NotInstalled, KeyNeeded, Storage, InvalidRequest, NotFound)
    path = "/v1/materials/{key}/lots/{lot}"
    return [
        Operation(
            method="GET",
            path="/v1/materials/{key}/lots",
            operation_id="list_lots",
            summary="Read the lots of a material",
            tag="Notebook",
            endpoint=list_lots,
            query=PageQuery,
            parameters={"key": _PLACE["key"], "limit": 50},
            answers={200: LotsPage, 304: None},
            errors=kept,
            example=lambda: {
                "items": [{**_EXAMPLE, "material": _PLACE["key"], "lot": _PLACE["lot"]}],
                "next": None,
                "rules_version": access.rulebook.edition,
            },
        ),
        Operation(
            method="GET",
            path=path,
            operation_id="get_lot",
            summary="Read one lot of a material",
            tag="Notebook",
            endpoint=get_lot,
            parameters=_PLACE,
            answers={200: Lot, 304: None},
            errors=kept,
            example=lambda: _EXAMPLE,
        ),
        Operation(
            method="PUT",
            path=path,
            operation_id="put_lot",
            summary="Keep a lot of a material: its certificate, price, dates and stock",
            tag="Notebook",
            endpoint=put_lot,
            parameters=_PLACE,
            request=Lot,
            sent=lambda: _EXAMPLE,
            headers=MAKING,
            answers={201: Lot, 200: Lot},
            errors=(*kept, Stale, IfMatchNeeded),
            example=lambda: _EXAMPLE,
        ),
        Operation(
            method="DELETE",
            path=path,
            operation_id="delete_lot",
            summary="Forget a lot of a material",
            tag="Notebook",
            endpoint=delete_lot,
            parameters=_PLACE,
            headers=CHANGING,
            answers={204: None},
            errors=(*kept, Stale, IfMatchNeeded),
        ),
    ]
