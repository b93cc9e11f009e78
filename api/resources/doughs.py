"""Keeps doughs: what was made, how it felt, what became of it."""

import json
from typing import Annotated, Any, Literal

from fastapi import Depends, Header, Path, Query
from starlette.requests import Request
from starlette.responses import Response

from advisor.batch_record.task import record
from advisor.errors import Fault, InvalidRecipe, InvalidRequest, UnknownMaterial
from advisor.labelling.schema import LabelAnswer
from advisor.labelling.task import label
from advisor.recipe.history import check_dough
from advisor.recipe.request import known_materials, read_request
from advisor.schema.base import Key
from advisor.schema.batch_record import BatchRecordAnswer
from advisor.schema.lot import LotName
from advisor.schema.notebook import StoredDough
from advisor.schema.server import Page
from api.dependencies import Condition, Here, Shop, routes, shop_of
from api.http.answering import STILL, gone, kept_answer, kept_text, shown, stored
from api.http.errors import existing
from api.http.queries import LabelQuery, PageQuery
from api.http.route import Sent, raises
from api.notebook.errors import Conflict
from api.notebook.precondition import Repeatable
from api.server import Server

_MOST_KEY = 255
_EXAMPLE: dict[str, Any] = {
    "id": "5f6f4a52-0c0e-4f3f-9d0c-3c6b7f0a9b11",
    "recipe": {
        "name": "Nettle bar",
        "lines": [
            {"material": "isethionate-powder", "percent": 60.0},
            {"material": "kaolin", "percent": 10.0},
            {"material": "betaine-30", "percent": 30.0},
        ],
    },
    "report": {"feel": "too_wet", "degree": "slight"},
    "made_on": "2031-03-09",
    "batch_grams": 500.0,
}


class DoughsQuery(PageQuery):
    """Which doughs: oldest first unless ``newest``; with ``material`` and ``lot`` those the lot went into."""

    newest: Literal["true", "false"] | None = None
    material: Key | None = None
    lot: LotName | None = None


class DoughsPage(Page):
    """Doughs in the order they were written down."""

    items: tuple[StoredDough, ...]


_CHANGED = {**_EXAMPLE, "outcome": {"feel": "workable"}}
_NEW = {name: value for name, value in _EXAMPLE.items() if name != "id"}
Id = Annotated[str, Path(openapi_examples={"example": {"value": _EXAMPLE["id"]}})]


def _record_example() -> Any:
    wanted = StoredDough.model_validate(_EXAMPLE).as_record()
    return None if wanted is None else record(wanted).model_dump(mode="json")


def _asked(body: str, query: LabelQuery) -> dict[str, Any]:
    """Return the request for the label of a dough."""
    dough = StoredDough.model_validate_json(body)
    return {"recipe": dough.recipe, "particulars": dough.particulars(), **query.model_dump()}


def _label_example() -> Any:
    return label(_asked(json.dumps(_EXAMPLE), LabelQuery(market="eu"))).model_dump(mode="json")


router = routes("Notebook", shop_of)


def _sent(summary: str, example: Any) -> Any:
    examples: dict[str, Any] = {"example": {"summary": summary, "value": example}}
    return Depends(Sent(StoredDough, examples, raises=(InvalidRecipe, UnknownMaterial)))


async def _read(dough: StoredDough, here: Server, shop: Shop) -> StoredDough:
    """Return a dough of known materials.

    Raises
    ------
    UnknownMaterial, InvalidRecipe
    """
    known = known_materials(None, here.rulebook, await shop.read(lambda notebook: notebook.known()))
    check_dough(dough, known)
    return dough


@router.post(
    "/v1/doughs",
    operation_id="add_dough",
    summary="Write down a dough; from then on it teaches where your doughs are workable",
    status_code=201,
    response_model=StoredDough,
    responses={201: shown(_EXAMPLE)},
)
@raises(Conflict)
async def add_dough(
    here: Here,
    shop: Shop,
    sent: Annotated[Any, _sent("A dough that was made", _NEW)],
    idempotency_key: Annotated[
        str | None,
        Header(description="The name of this request: sent again within 24 hours, it is done once."),
    ] = None,
) -> Response:
    """Write down a dough."""
    dough = await _read(sent, here, shop)
    repeatable = _repeatable(idempotency_key, dough, here.access.now)
    kept = await shop.write(lambda notebook: notebook.add_dough(dough, repeatable))
    return stored(kept.body, new=True, address=f"/v1/doughs/{kept.id}")


@router.get(
    "/v1/doughs",
    operation_id="list_doughs",
    summary="Read the doughs, or those a lot went into",
    response_model=DoughsPage,
    responses={200: shown({"items": [_EXAMPLE], "next": None, "rules_version": "2031.1"}), **STILL},
)
async def list_doughs(
    request: Request, here: Here, shop: Shop, query: Annotated[DoughsQuery, Query()]
) -> Response:
    """Read the doughs."""
    after, lot = _place(query.after), _lot(query)
    newest = query.newest == "true"
    kept, following = await shop.read(
        lambda notebook: notebook.doughs(query.limit, after, newest=newest, lot=lot)
    )
    cursor = "null" if following is None else f'"{following}"'
    items = ",".join(dough.body for dough in kept)
    version = json.dumps(here.rulebook.edition)
    return kept_text(request, f'{{"items":[{items}],"next":{cursor},"rules_version":{version}}}')


@router.get(
    "/v1/doughs/{dough_id}",
    operation_id="get_dough",
    summary="Read one dough",
    response_model=StoredDough,
    responses={200: shown(_EXAMPLE), **STILL},
)
async def get_dough(request: Request, shop: Shop, dough_id: Id) -> Response:
    """Read one dough."""
    return kept_text(request, (await shop.read(lambda notebook: notebook.dough(dough_id))).body)


@router.get(
    "/v1/doughs/{dough_id}/batch-record",
    operation_id="get_dough_record",
    summary="Read a dough as the record of its batch, with what it still lacks",
    response_model=BatchRecordAnswer,
    responses={200: shown(_record_example()), **STILL},
)
@raises(InvalidRecipe, UnknownMaterial)
async def get_record(request: Request, shop: Shop, dough_id: Id) -> Response:
    """Read a dough as the record of its batch."""
    kept, known = await shop.read(lambda notebook: (notebook.dough(dough_id), notebook.known()))
    wanted = existing(
        StoredDough.model_validate_json(kept.body).as_record(),
        "The dough has no batch_grams, so there is no record of a batch.",
    )
    return kept_answer(request, record(wanted, notebook=known))


@router.get(
    "/v1/doughs/{dough_id}/label",
    operation_id="get_dough_label",
    summary="Read the label of a dough: its list, and what its record and the shop say of the rest",
    response_model=LabelAnswer,
    responses={200: shown(_label_example()), **STILL},
)
@raises(InvalidRecipe, UnknownMaterial)
async def get_label(
    request: Request, shop: Shop, dough_id: Id, query: Annotated[LabelQuery, Query()]
) -> Response:
    """Read the label of a dough."""
    kept, known = await shop.read(lambda notebook: (notebook.dough(dough_id), notebook.known()))
    return kept_answer(request, label(_asked(kept.body, query), notebook=known))


@router.put(
    "/v1/doughs/{dough_id}",
    operation_id="put_dough",
    summary="Change a dough, as when its outcome is known",
    response_model=StoredDough,
    responses={
        200: shown(_CHANGED),
        201: {"model": StoredDough, "description": "It is new.", **shown(_CHANGED)},
    },
)
async def put_dough(
    here: Here,
    shop: Shop,
    dough_id: Id,
    sent: Annotated[Any, _sent("How it turned out", _CHANGED)],
    condition: Condition,
) -> Response:
    """Change a dough."""
    dough = await _read(sent, here, shop)
    if dough.id not in (None, dough_id):
        raise InvalidRequest(
            "The dough has another id than its address.", [Fault("/id", "is not the id of the address")]
        )
    read_request(StoredDough, {"id": dough_id, "recipe": dough.recipe})
    kept, new = await shop.write(lambda notebook: notebook.put_dough(dough_id, dough, condition))
    return stored(kept.body, new=new, address=f"/v1/doughs/{kept.id}")


@router.delete(
    "/v1/doughs/{dough_id}",
    operation_id="delete_dough",
    summary="Forget a dough",
    status_code=204,
    response_class=Response,
)
async def delete_dough(shop: Shop, dough_id: Id, condition: Condition) -> Response:
    """Forget a dough."""
    await shop.write(lambda notebook: notebook.remove_dough(dough_id, condition), makes=False)
    return gone()


def _repeatable(key: str | None, dough: StoredDough, now: int) -> Repeatable | None:
    if key is None:
        return None
    if not 0 < len(key) <= _MOST_KEY:
        raise InvalidRequest(f"The header Idempotency-Key has 1 to {_MOST_KEY} characters.")
    return Repeatable(key, dough.model_dump_json().encode(), now)


def _place(cursor: str | None) -> int | None:
    if cursor is None:
        return None
    if not cursor.isascii() or not cursor.isdigit() or len(cursor) > 18:
        raise InvalidRequest(
            "A parameter of the query is wrong.", [Fault("?after", "is no cursor of this list")]
        )
    return int(cursor)


def _lot(query: DoughsQuery) -> tuple[str, str] | None:
    if query.lot is None and query.material is None:
        return None
    if query.lot is None or query.material is None:
        raise InvalidRequest(
            "A lot is named by its material and its name.", [Fault("?lot", "needs material too")]
        )
    return query.material, query.lot
