"""What is kept under a name of its own: read, put in and forgotten the same way, whatever it is."""

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Annotated, Any
from urllib.parse import quote

from fastapi import APIRouter, Depends
from pydantic import BaseModel
from starlette.requests import Request
from starlette.responses import Response

from advisor.errors import AdvisorError, InvalidRequest
from advisor.recipe.request import KnownMaterials, known_materials
from api.dependencies import Condition, Here, Shop, routes, shop_of
from api.http.answering import STILL, gone, kept_text, shown, stored, text_of
from api.http.errors import NotFound
from api.http.route import Sent, raises

if TYPE_CHECKING:
    from api.notebook.shop import Kind

Name = tuple[str, ...]
Check = Callable[[Any, Name, KnownMaterials], None]


def router_of(
    kind: "Kind",
    word: str,
    about: str,
    putting: str,
    path: str,
    *,
    name_of: Callable[..., Any],
    shape: type[BaseModel],
    check: Check,
    example: Mapping[str, Any],
    errors: tuple[type[AdvisorError], ...] = (),
    read_here: bool = True,
) -> APIRouter:
    """Return the routes of one kind of thing the notebook keeps.

    Parameters
    ----------
    kind : str
        What the notebook calls it.
    word : str
        What its operations are called by, as in ``get_lot``.
    about : str
        What it is, as in the summary "Forget a lot of a material".
    putting : str
        The summary of putting it in.
    path : str
        Its address.
    name_of : function
        Takes the parts of the address by name and returns the name it is kept under.
    shape : type
    check : function
        Refuses what does not belong under its name.
    example : mapping
    errors : tuple
        What ``check`` may raise besides ``InvalidRequest``.
    read_here : bool
        Whether it is read as it is kept.
    """
    router = routes("Notebook", shop_of)
    examples = {"example": {"summary": about.capitalize(), "value": example}}
    answer = shown(example)

    async def get(request: Request, shop: Shop, name: Annotated[Name, Depends(name_of)]) -> Response:
        """Read it as it was kept; it is not to be had where nothing was put in."""
        return kept_text(request, await shop.read(lambda notebook: notebook.get(kind, name)))

    @raises(InvalidRequest, *errors)
    async def put(
        request: Request,
        here: Here,
        shop: Shop,
        name: Annotated[Name, Depends(name_of)],
        thing: Annotated[Any, Depends(Sent(shape, examples))],
        condition: Condition,
    ) -> Response:
        """Put it in, new or in place of what was kept there; from then on it counts in every calculation."""
        known = known_materials(None, here.rulebook, await shop.read(lambda notebook: notebook.known()))
        check(thing, name, known)
        body = text_of(thing)
        new = await shop.write(lambda notebook: notebook.put(kind, name, body, condition))
        place = {part: quote(value, safe="") for part, value in request.path_params.items()}
        return stored(body, new=new, address=request.scope["route"].path_format.format(**place))

    @raises(NotFound)
    async def delete(shop: Shop, name: Annotated[Name, Depends(name_of)], condition: Condition) -> Response:
        """Forget it; calculations go on without it."""
        await shop.write(lambda notebook: notebook.remove(kind, name, condition), makes=False)
        return gone()

    if read_here:
        router.get(
            path,
            operation_id=f"get_{word}",
            summary=f"Read {about}",
            response_model=shape,
            responses={200: answer, **STILL},
        )(get)
    router.put(
        path,
        operation_id=f"put_{word}",
        summary=putting,
        response_model=shape,
        responses={200: answer, 201: {"model": shape, "description": "It is new.", **answer}},
    )(put)
    router.delete(
        path,
        operation_id=f"delete_{word}",
        summary=f"Forget {about}",
        status_code=204,
        response_class=Response,
    )(delete)
    return router
