"""Keeps doughs: what was made, how it felt, what became of it."""

import json
from typing import Any, Literal

from starlette.requests import Request
from starlette.responses import Response

from advisor.batch_record.task import record
from advisor.errors import Fault, InvalidRecipe, InvalidRequest, NotInstalled, UnknownMaterial
from advisor.recipe.history import stored_evidence
from advisor.recipe.request import known_materials, read_request
from advisor.schema.base import Key
from advisor.schema.batch_record import BatchRecordAnswer
from advisor.schema.lot import LotName
from advisor.schema.notebook import StoredDough
from advisor.schema.server import Page
from api.http.answering import kept_answer
from api.http.errors import NotFound
from api.http.negotiation import chosen
from api.http.reading import read_json, read_query
from api.notebook.access import ShopAccess
from api.notebook.answers import gone, kept_text, stored
from api.notebook.errors import Conflict, IfMatchNeeded, KeyNeeded, Stale, Storage
from api.notebook.precondition import CHANGING, MAKING, Precondition
from api.notebook.repeatable import Repeatable
from api.operation import Operation
from api.settings import Settings
from api.shapes import Asking, PageQuery

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


def operations(settings: Settings, access: ShopAccess) -> list[Operation]:
    """Return the operations on doughs."""

    async def read_dough(request: Request) -> StoredDough:
        dough: StoredDough = read_request(StoredDough, await read_json(request, settings.body_bytes_at_most))
        known = known_materials(None, access.rulebook, await access.of(request))
        known.all((one.material, f"/added/{place}/material") for place, one in enumerate(dough.added))
        stored_evidence(dough, known)
        known.all((key, f"/lots/{key}") for key in dough.lots or {})
        return dough

    async def add_dough(request: Request) -> Response:
        chosen(request)
        read_query(request, Asking)
        dough = await read_dough(request)
        repeatable = _repeatable(request, dough, access.now)
        kept = await access.write(request, lambda shop: shop.add_dough(dough, repeatable))
        return stored(kept.body, new=True, address=f"/v1/doughs/{kept.id}")

    async def list_doughs(request: Request) -> Response:
        chosen(request)
        query = read_query(request, DoughsQuery)
        after, lot = _place(query.after), _lot(query)
        newest = query.newest == "true"
        kept, following = await access.read(
            request, lambda shop: shop.doughs(query.limit, after, newest=newest, lot=lot)
        )
        cursor = "null" if following is None else f'"{following}"'
        items = ",".join(dough.body for dough in kept)
        version = json.dumps(access.rulebook.edition)
        return kept_text(request, f'{{"items":[{items}],"next":{cursor},"rules_version":{version}}}')

    async def get_dough(request: Request, dough_id: str) -> Response:
        chosen(request)
        read_query(request, Asking)
        return kept_text(request, (await access.read(request, lambda shop: shop.dough(dough_id))).body)

    async def get_record(request: Request, dough_id: str) -> Response:
        chosen(request)
        read_query(request, Asking)
        kept = await access.read(request, lambda shop: shop.dough(dough_id))
        wanted = StoredDough.model_validate_json(kept.body).as_record()
        if wanted is None:
            raise NotFound("The dough has no batch_grams, so there is no record of a batch.")
        return kept_answer(request, record(wanted, notebook=await access.of(request)))

    async def put_dough(request: Request, dough_id: str) -> Response:
        chosen(request)
        read_query(request, Asking)
        dough = await read_dough(request)
        if dough.id not in (None, dough_id):
            raise InvalidRequest(
                "The dough has another id than its address.", [Fault("/id", "is not the id of the address")]
            )
        read_request(StoredDough, {"id": dough_id, "recipe": dough.recipe})
        condition = Precondition.of(request.headers)
        kept, new = await access.write(request, lambda shop: shop.put_dough(dough_id, dough, condition))
        return stored(kept.body, new=new, address=f"/v1/doughs/{kept.id}")

    async def delete_dough(request: Request, dough_id: str) -> Response:
        chosen(request)
        read_query(request, Asking)
        condition = Precondition.of(request.headers)
        await access.write(request, lambda shop: shop.remove_dough(dough_id, condition), makes=False)
        return gone()

    kept_errors = (NotInstalled, KeyNeeded, Storage, InvalidRequest)
    writing = (*kept_errors, InvalidRecipe, UnknownMaterial)
    one = {"dough_id": _EXAMPLE["id"]}
    return [
        Operation(
            method="POST",
            path="/v1/doughs",
            operation_id="add_dough",
            summary="Write down a dough; from then on it teaches where your doughs are workable",
            tag="Notebook",
            endpoint=add_dough,
            request=StoredDough,
            sent=lambda: {key: value for key, value in _EXAMPLE.items() if key != "id"},
            headers={
                "Idempotency-Key": "The name of this request: sent again within 24 hours, it is done once."
            },
            answers={201: StoredDough},
            errors=(*writing, Conflict),
            example=lambda: _EXAMPLE,
        ),
        Operation(
            method="GET",
            path="/v1/doughs",
            operation_id="list_doughs",
            summary="Read the doughs, or those a lot went into",
            tag="Notebook",
            endpoint=list_doughs,
            query=DoughsQuery,
            parameters={"limit": 50},
            answers={200: DoughsPage, 304: None},
            errors=kept_errors,
            example=lambda: {"items": [_EXAMPLE], "next": None, "rules_version": access.rulebook.edition},
        ),
        Operation(
            method="GET",
            path="/v1/doughs/{dough_id}",
            operation_id="get_dough",
            summary="Read one dough",
            tag="Notebook",
            endpoint=get_dough,
            parameters=one,
            answers={200: StoredDough, 304: None},
            errors=(*kept_errors, NotFound),
            example=lambda: _EXAMPLE,
        ),
        Operation(
            method="GET",
            path="/v1/doughs/{dough_id}/batch-record",
            operation_id="get_dough_record",
            summary="Read a dough as the record of its batch, with what it still lacks",
            tag="Notebook",
            endpoint=get_record,
            parameters=one,
            answers={200: BatchRecordAnswer, 304: None},
            errors=(*writing, NotFound),
            example=lambda: _record_example(),
        ),
        Operation(
            method="PUT",
            path="/v1/doughs/{dough_id}",
            operation_id="put_dough",
            summary="Change a dough, as when its outcome is known",
            tag="Notebook",
            endpoint=put_dough,
            parameters=one,
            request=StoredDough,
            sent=lambda: {**_EXAMPLE, "outcome": {"feel": "workable"}},
            headers=MAKING,
            answers={200: StoredDough, 201: StoredDough},
            errors=(*writing, Stale, IfMatchNeeded),
            example=lambda: {**_EXAMPLE, "outcome": {"feel": "workable"}},
        ),
        Operation(
            method="DELETE",
            path="/v1/doughs/{dough_id}",
            operation_id="delete_dough",
            summary="Forget a dough",
            tag="Notebook",
            endpoint=delete_dough,
            parameters=one,
            headers=CHANGING,
            answers={204: None},
            errors=(*kept_errors, NotFound, Stale, IfMatchNeeded),
        ),
    ]


def _record_example() -> Any:
    wanted = StoredDough.model_validate(_EXAMPLE).as_record()
    return None if wanted is None else record(wanted).model_dump(mode="json")


def _repeatable(request: Request, dough: StoredDough, now: int) -> Repeatable | None:
    key = request.headers.get("idempotency-key")
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


def _wrong_query(fault: Fault) -> InvalidRequest:
    return InvalidRequest("A parameter of the query is wrong.", [fault])
