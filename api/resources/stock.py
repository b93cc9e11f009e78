"""What lies there: the stock of the lots, and the bars on the rack."""

from typing import Annotated, Any

from fastapi import Query
from starlette.requests import Request
from starlette.responses import Response

from advisor.drying.rack import rack
from advisor.drying.schema import RackAnswer
from advisor.errors import InvalidRecipe, NotInstalled, UnknownMaterial
from advisor.schema.lot import StockPage
from advisor.schema.notebook import StoredDough
from api.dependencies import Here, Shop, routes, shop_of
from api.http.answering import STILL, kept_answer, shown
from api.http.queries import PageQuery, page
from api.http.route import raises

_LOT: dict[str, Any] = {
    "material": "betaine-30",
    "name": "Cocamidopropyl betaine, 30 % active",
    "lot": "B-0417",
    "on_hand": 2400.0,
    "reserved": 300.0,
    "received": "2031-03-02",
    "expires": "2033-03-01",
}
_BATCH: dict[str, Any] = {
    "id": "d-17",
    "name": "Nettle bar of 2031-03-09",
    "recipe_key": "nettle-bar",
    "version": 2,
    "made_on": "2031-03-09",
    "weighings": 0,
    "dates": {
        "weigh_next": "2031-03-10",
        "handle": "2031-03-11",
        "wrap": "2031-03-20",
        "sell": {"earliest": "2031-03-15", "typical": "2031-03-20", "latest": "2031-03-27"},
        "turn": "2031-03-10",
    },
    "basis": "estimate",
}
_RACK: dict[str, Any] = {
    "on": "2031-03-10",
    "items": [_BATCH],
    "today": [{"id": "d-17", "do": "turn", "text": "Turn Nettle bar of 2031-03-09."}],
    "cautions": [],
    "notes": [],
    "rules_version": "2031.1",
}
_MOST_BATCHES = 200
router = routes("Notebook", shop_of)


@router.get(
    "/v1/stock",
    operation_id="list_stock",
    summary="Read what each lot holds, and what planned doughs will take of it",
    response_model=StockPage,
    responses={200: shown({"items": [_LOT], "next": None, "rules_version": "2031.1"}), **STILL},
)
async def list_stock(
    request: Request, here: Here, shop: Shop, query: Annotated[PageQuery, Query()]
) -> Response:
    """Read what each lot holds."""
    lots = await shop.read(lambda notebook: notebook.stock(here.access.today))
    return kept_answer(
        request,
        StockPage(
            **page(lots, lambda one: f"{one.material} {one.lot}", query), rules_version=here.rulebook.edition
        ),
    )


@router.get(
    "/v1/rack",
    operation_id="get_rack",
    summary="Read every batch that dries, with its dates, and what is to be done today",
    response_model=RackAnswer,
    responses={200: shown(_RACK), **STILL},
)
@raises(InvalidRecipe, UnknownMaterial, NotInstalled)
async def get_rack(request: Request, here: Here, shop: Shop) -> Response:
    """Read every batch that dries."""
    (kept, _), known = await shop.read(
        lambda notebook: (
            notebook.doughs(_MOST_BATCHES, None, newest=True, lot=None),
            notebook.known(),
        )
    )
    doughs = [StoredDough.model_validate_json(one.body) for one in kept]
    answer = await here.work.run(
        lambda: rack(doughs, today=here.access.today, rulebook=here.rulebook, notebook=known),
        long=True,
        caller=request.state.counted.caller,
    )
    return kept_answer(request, answer)
