"""The lots of a material."""

from typing import Annotated, Any

from fastapi import APIRouter, Path, Query
from starlette.requests import Request
from starlette.responses import Response

from advisor.recipe.request import KnownMaterials, read_request
from advisor.schema.lot import Lot, LotRow
from advisor.schema.server import Page
from api.dependencies import Here, Shop, routes, shop_of
from api.http.answering import STILL, kept_answer, shown
from api.http.errors import existing
from api.http.queries import PageQuery, page
from api.resources.kept import Name, router_of

_EXAMPLE: dict[str, Any] = {
    "active": 31.2,
    "price_per_kg": 4.1,
    "received": "2031-03-02",
    "expires": "2033-03-01",
    "stock_grams": 2400.0,
}
_ROW = {"material": "betaine-30", "lot": "B-0417"}
Key = Annotated[str, Path(openapi_examples={"example": {"value": _ROW["material"]}})]


class LotsPage(Page):
    """The lots of a material by name."""

    items: tuple[LotRow, ...]


async def _name(
    key: Key, lot: Annotated[str, Path(openapi_examples={"example": {"value": _ROW["lot"]}})]
) -> Name:
    return key, lot


def _check(_: Lot, name: Name, known: KnownMaterials) -> None:
    existing(known.get(name[0]), "There is no material of this key.")
    read_request(LotRow, {"material": name[0], "lot": name[1]})


def router() -> APIRouter:
    """Return the routes of lots."""
    kept = router_of(
        kind="lots",
        word="lot",
        about="a lot of a material",
        putting="Keep a lot of a material: its certificate, price, dates and stock",
        path="/v1/materials/{key}/lots/{lot:path}",
        name_of=_name,
        shape=Lot,
        check=_check,
        example=_EXAMPLE,
    )
    router = routes("Notebook", shop_of)
    example = {"items": [{**_EXAMPLE, **_ROW}], "next": None, "rules_version": "2031.1"}

    @router.get(
        "/v1/materials/{key}/lots",
        operation_id="list_lots",
        summary="Read the lots of a material",
        response_model=LotsPage,
        responses={200: shown(example), **STILL},
    )
    async def list_lots(
        request: Request, here: Here, shop: Shop, key: Key, query: Annotated[PageQuery, Query()]
    ) -> Response:
        """Read the lots that are kept of a material, by name, in pages."""
        rows = await shop.read(lambda notebook: notebook.items("lots", (key,)))
        lots = [
            LotRow(**Lot.model_validate_json(body).model_dump(), material=name[0], lot=name[1])
            for name, body in rows
        ]
        return kept_answer(
            request, LotsPage(**page(lots, lambda lot: lot.lot, query), rules_version=here.rulebook.edition)
        )

    router.routes.extend(kept.routes)
    return router
