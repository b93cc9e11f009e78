"""What is kept under a name of its own: read, put in and forgotten the same way, whatever it is."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Annotated, Any
from urllib.parse import quote

from fastapi import APIRouter, Depends
from pydantic import BaseModel
from starlette.requests import Request
from starlette.responses import Response

from advisor.errors import AdvisorError, InvalidRequest
from advisor.recipe.notebook import Notebook
from advisor.recipe.request import KnownMaterials, known_materials
from api.dependencies import Condition, Here, Shop, routes, shop_of
from api.http.answering import STILL, gone, kept_text, shown, stored, text_of
from api.http.errors import NotFound
from api.http.route import Sent, raises

if TYPE_CHECKING:
    from api.notebook.shop import Kind

Name = tuple[str, ...]
Check = Callable[[Any, Name, KnownMaterials], None]


@dataclass(frozen=True)
class Kept:
    """A kind of thing the notebook keeps.

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
    name : function
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

    kind: "Kind"
    word: str
    about: str
    putting: str
    path: str
    name: Callable[..., Any]
    shape: type[BaseModel]
    check: Check
    example: Mapping[str, Any]
    errors: tuple[type[AdvisorError], ...] = field(default=())
    read_here: bool = True


def router_of(kept: Kept) -> APIRouter:
    """Return the routes of one kind of thing."""
    router = routes("Notebook", shop_of)
    examples = {"example": {"summary": kept.about.capitalize(), "value": kept.example}}
    answer = shown(kept.example)

    async def get(request: Request, shop: Shop, name: Annotated[Name, Depends(kept.name)]) -> Response:
        """Read it as it was kept; it is not to be had where nothing was put in."""
        return kept_text(request, await shop.read(lambda notebook: notebook.get(kept.kind, name)))

    @raises(InvalidRequest, *kept.errors)
    async def put(
        request: Request,
        here: Here,
        shop: Shop,
        name: Annotated[Name, Depends(kept.name)],
        thing: Annotated[Any, Depends(Sent(kept.shape, examples))],
        condition: Condition,
    ) -> Response:
        """Put it in, new or in place of what was kept there; from then on it counts in every calculation."""
        known = known_materials(None, here.rulebook, await shop.read(_known))
        kept.check(thing, name, known)
        body = text_of(thing)
        new = await shop.write(lambda notebook: notebook.put(kept.kind, name, body, condition))
        place = {part: quote(value, safe="") for part, value in request.path_params.items()}
        return stored(body, new=new, address=request.scope["route"].path_format.format(**place))

    @raises(NotFound)
    async def delete(shop: Shop, name: Annotated[Name, Depends(kept.name)], condition: Condition) -> Response:
        """Forget it; calculations go on without it."""
        await shop.write(lambda notebook: notebook.remove(kept.kind, name, condition), makes=False)
        return gone()

    if kept.read_here:
        router.get(
            kept.path,
            operation_id=f"get_{kept.word}",
            summary=f"Read {kept.about}",
            response_model=kept.shape,
            responses={200: answer, **STILL},
        )(get)
    router.put(
        kept.path,
        operation_id=f"put_{kept.word}",
        summary=kept.putting,
        response_model=kept.shape,
        responses={200: answer, 201: {"model": kept.shape, "description": "It is new.", **answer}},
    )(put)
    router.delete(
        kept.path,
        operation_id=f"delete_{kept.word}",
        summary=f"Forget {kept.about}",
        status_code=204,
        response_class=Response,
    )(delete)
    return router


def _known(notebook: Any) -> Notebook:
    found: Notebook = notebook.known()
    return found
