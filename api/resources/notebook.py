"""Takes the whole notebook out, puts one in, and erases it."""

from typing import Any

from anyio import to_thread
from starlette.requests import Request
from starlette.responses import Response

from advisor.errors import InvalidRecipe, InvalidRequest, NotInstalled
from advisor.schema.base import Shape
from advisor.schema.notebook import StoredNotebook
from api.http.answering import strong_tag
from api.http.errors import NotFound
from api.http.negotiation import JSON, chosen
from api.http.reading import declared, parse_json, read_bytes, read_query
from api.notebook.access import ShopAccess
from api.notebook.answers import gone, kept_text
from api.notebook.bundle import from_zip, to_zip
from api.notebook.errors import IfMatchNeeded, KeyNeeded, RoleNeeded, Stale, Storage
from api.notebook.incoming import read_notebook
from api.notebook.precondition import CHANGING, MAKING, Precondition
from api.operation import Operation
from api.settings import Settings
from api.shapes import Asking

_ZIP = "application/zip"
_READ = {JSON: parse_json, _ZIP: from_zip}
_EXAMPLE: dict[str, Any] = {
    "format": 1,
    "materials": [],
    "lots": [{"material": "betaine-30", "lot": "B-0417", "active": 31.2}],
    "uptake_tests": [],
    "doughs": [],
}


class PutIn(Shape):
    """How many rows of each kind are kept now."""

    materials: int
    lots: int
    uptake_tests: int
    doughs: int
    rules_version: str


def operations(settings: Settings, access: ShopAccess) -> list[Operation]:
    """Return the operations on the whole notebook."""

    async def get_notebook(request: Request) -> Response:
        form = chosen(request, (JSON, _ZIP))
        read_query(request, Asking)
        text = await access.read(request, lambda shop: shop.taken_out())
        if form == JSON:
            return kept_text(request, text)
        headers = {
            "ETag": strong_tag(text.encode()),
            "Content-Disposition": 'attachment; filename="dough-notebook.zip"',
        }
        return Response(await to_thread.run_sync(to_zip, text), headers=headers, media_type=_ZIP)

    async def put_notebook(request: Request) -> Response:
        chosen(request)
        read_query(request, Asking)
        form = declared(request, (JSON, _ZIP))
        raw = await read_bytes(request, settings.notebook_bytes_at_most)
        notebook = await to_thread.run_sync(lambda: read_notebook(_READ[form](raw)))
        condition = Precondition.of(request.headers)
        (counts, new), text = await access.write(
            request,
            lambda shop: (shop.put_in(notebook, condition, access.now), shop.taken_out()),
            least="owner",
        )
        answer = PutIn(**counts, rules_version=access.rulebook.edition).model_dump_json()
        headers = {"ETag": strong_tag(text.encode()), **({"Location": "/v1/notebook"} if new else {})}
        return Response(answer, 201 if new else 200, headers, JSON)

    async def delete_notebook(request: Request) -> Response:
        chosen(request)
        read_query(request, Asking)
        condition = Precondition.of(request.headers)
        await access.write(request, lambda shop: shop.erase(condition), makes=False, least="owner")
        return gone()

    async def take_back(request: Request) -> Response:
        chosen(request)
        read_query(request, Asking)
        counts, text = await access.write(
            request,
            lambda shop: (shop.take_back(access.now), shop.taken_out()),
            makes=False,
            least="owner",
        )
        answer = PutIn(**counts, rules_version=access.rulebook.edition).model_dump_json()
        return Response(answer, 200, {"ETag": strong_tag(text.encode())}, JSON)

    def counted() -> dict[str, Any]:
        counts = {name: len(rows) for name, rows in _EXAMPLE.items() if isinstance(rows, list)}
        return {**counts, "rules_version": access.rulebook.edition}

    kept = (NotInstalled, KeyNeeded, Storage, InvalidRequest)
    return [
        Operation(
            method="GET",
            path="/v1/notebook",
            operation_id="get_notebook",
            summary="Take the whole notebook out: JSON, or CSV tables in a zip",
            tag="Notebook",
            endpoint=get_notebook,
            answers={200: StoredNotebook, 304: None},
            errors=kept,
            forms={_ZIP: "One CSV table a kind."},
            example=lambda: _EXAMPLE,
        ),
        Operation(
            method="PUT",
            path="/v1/notebook",
            operation_id="put_notebook",
            summary="Put a whole notebook in, in place of what there is: all of it, or none",
            tag="Notebook",
            endpoint=put_notebook,
            request=StoredNotebook,
            sent=lambda: _EXAMPLE,
            headers=MAKING,
            takes={_ZIP: "The tables as they were taken out."},
            answers={201: PutIn, 200: PutIn},
            errors=(*kept, RoleNeeded, InvalidRecipe, Stale, IfMatchNeeded),
            example=counted,
        ),
        Operation(
            method="POST",
            path="/v1/notebook/restorations",
            operation_id="restore_notebook",
            summary="Take back the notebook that was replaced last; the present one is kept in its place",
            tag="Notebook",
            endpoint=take_back,
            answers={200: PutIn},
            errors=(*kept, RoleNeeded, NotFound),
            example=counted,
        ),
        Operation(
            method="DELETE",
            path="/v1/notebook",
            operation_id="delete_notebook",
            summary="Erase the whole notebook; keys stay",
            tag="Notebook",
            endpoint=delete_notebook,
            headers=CHANGING,
            answers={204: None},
            errors=(*kept, RoleNeeded, Stale, IfMatchNeeded),
        ),
    ]
