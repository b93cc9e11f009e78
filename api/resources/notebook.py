"""Takes the whole notebook out, puts one in, and erases it."""

from typing import TYPE_CHECKING, Annotated, Any

from anyio import to_thread
from fastapi import Depends
from starlette.requests import Request
from starlette.responses import Response

from advisor.errors import InvalidRecipe
from advisor.schema.base import Shape
from advisor.schema.notebook import StoredNotebook
from api.dependencies import Condition, Form, Here, Shop, routes, shop_of
from api.http.answering import JSON, STILL, gone, kept_text, shown, strong_tag
from api.http.errors import NotFound
from api.http.route import Sent, raises
from api.notebook.bundle import from_zip, to_zip
from api.notebook.incoming import read_notebook

if TYPE_CHECKING:
    from api.notebook.shop import Shop as Notes

_ZIP = "application/zip"
_EXAMPLE: dict[str, Any] = {
    "format": 2,
    "materials": [],
    "lots": [{"material": "betaine-30", "lot": "B-0417", "active": 31.2}],
    "uptake_tests": [],
    "doughs": [],
    "recipes": [],
    "taken": [],
}


class PutIn(Shape):
    """How many rows of each kind are kept now."""

    materials: int
    lots: int
    uptake_tests: int
    doughs: int
    recipes: int
    rules_version: str


_COUNTS = {"materials": 0, "lots": 1, "uptake_tests": 0, "doughs": 0, "recipes": 0, "rules_version": "2031.1"}
_SENT = Sent(
    StoredNotebook,
    {"example": {"summary": "One lot and nothing else", "value": _EXAMPLE}},
    takes={_ZIP: "The tables as they were taken out."},
    parse={_ZIP: from_zip},
    read=read_notebook,
    most_bytes=lambda settings: settings.notebook_bytes_at_most,
    raises=(InvalidRecipe,),
)
router = routes("Notebook", shop_of)


def _with_tag(notebook: "Notes") -> tuple[str, str]:
    """Return the whole notebook and its entity tag, in the thread of who reads: not in the loop."""
    text = notebook.taken_out()
    return text, strong_tag(text.encode())


@router.get(
    "/v1/notebook",
    operation_id="get_notebook",
    summary="Take the whole notebook out: JSON, or CSV tables in a zip",
    response_model=StoredNotebook,
    responses={200: shown(_EXAMPLE, {_ZIP: "One CSV table a kind."}), **STILL},
)
async def get_notebook(request: Request, shop: Shop, form: Form) -> Response:
    """Take the whole notebook out."""
    if form == JSON:
        return await shop.read(lambda notebook: kept_text(request, notebook.taken_out()))
    text, tag = await shop.read(_with_tag)
    headers = {"ETag": tag, "Content-Disposition": 'attachment; filename="dough-notebook.zip"'}
    return Response(await to_thread.run_sync(to_zip, text), headers=headers, media_type=_ZIP)


@router.put(
    "/v1/notebook",
    operation_id="put_notebook",
    summary="Put a whole notebook in, in place of what there is: all of it, or none",
    response_model=PutIn,
    responses={
        200: shown(_COUNTS),
        201: {"model": PutIn, "description": "It is new.", **shown(_COUNTS)},
    },
)
async def put_notebook(
    here: Here, shop: Shop, sent: Annotated[Any, Depends(_SENT)], condition: Condition
) -> Response:
    """Put a whole notebook in."""
    (counts, new), (_, tag) = await shop.write(
        lambda notebook: (notebook.put_in(sent, condition, here.access.now), _with_tag(notebook)),
        least="owner",
    )
    answer = PutIn(**counts, rules_version=here.rulebook.edition).model_dump_json()
    headers = {"ETag": tag, **({"Location": "/v1/notebook"} if new else {})}
    return Response(answer, 201 if new else 200, headers, JSON)


@router.post(
    "/v1/notebook/restorations",
    operation_id="restore_notebook",
    summary="Take back the notebook that was replaced last; the present one is kept in its place",
    response_model=PutIn,
    responses={200: shown(_COUNTS)},
)
@raises(NotFound)
async def take_back(here: Here, shop: Shop) -> Response:
    """Take back the notebook that was replaced last."""
    counts, (_, tag) = await shop.write(
        lambda notebook: (notebook.take_back(here.access.now), _with_tag(notebook)),
        makes=False,
        least="owner",
    )
    answer = PutIn(**counts, rules_version=here.rulebook.edition).model_dump_json()
    return Response(answer, 200, {"ETag": tag}, JSON)


@router.delete(
    "/v1/notebook",
    operation_id="delete_notebook",
    summary="Erase the whole notebook; keys stay",
    status_code=204,
    response_class=Response,
)
async def delete_notebook(shop: Shop, condition: Condition) -> Response:
    """Erase the whole notebook."""
    await shop.write(lambda notebook: notebook.erase(condition), makes=False, least="owner")
    return gone()
