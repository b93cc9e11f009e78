"""Materials: the shop's own and those of the library."""

from collections.abc import Mapping
from typing import Annotated, Any

from fastapi import APIRouter, Path, Query
from starlette.requests import Request
from starlette.responses import Response

from advisor.errors import Fault, InvalidRequest
from advisor.recipe import catalogue
from advisor.recipe.request import KnownMaterials
from advisor.rulebook.ingredient import Ingredient
from advisor.rulebook.load import Rulebook
from advisor.schema.material import Material
from advisor.schema.server import MaterialsPage
from api.dependencies import Here, Known, known_by, routes
from api.http.answering import STILL, kept_answer, shown
from api.http.errors import NotFound
from api.http.queries import MaterialsQuery, page
from api.resources.kept import Name, router_of

_EXAMPLE = "betaine-30"
_OWN: dict[str, Any] = {
    "key": "nettle-powder",
    "name": "Nettle leaf, ground",
    "form": "powder",
    "roles": ["filler", "featured"],
    "composition": {"Urtica Dioica Leaf Powder": 100.0},
    "uptake": {"typical": 0.62, "low": 0.5, "high": 0.75, "basis": "own"},
}
Key = Annotated[str, Path(openapi_examples={"example": {"value": _EXAMPLE}})]


async def _name(key: Key) -> Name:
    return (key,)


def _check(material: Material, name: Name, _: KnownMaterials) -> None:
    if material.key != name[0]:
        fault = Fault("/key", "is not the key of the address")
        raise InvalidRequest("The material has another key than its address.", [fault])


def router(rulebook: Rulebook) -> APIRouter:
    """Return the routes of materials."""
    kept = router_of(
        kind="materials",
        word="material",
        about="a material of your own",
        putting="Keep a material of your own; it comes before the library's of the same key",
        path="/v1/materials/{key}",
        name_of=_name,
        shape=Material,
        check=_check,
        example=_OWN,
        read_here=False,
    )
    router = routes("Materials", known_by)

    def listed(query: MaterialsQuery, own: Mapping[str, Ingredient]) -> MaterialsPage:
        known = {"true": own, "false": rulebook.ingredients}.get(
            query.own or "", {**rulebook.ingredients, **own}
        )
        return MaterialsPage(
            **page(catalogue.found(known.values(), query.q or "", query.role), lambda one: one.key, query),
            rules_version=rulebook.edition,
        )

    @router.get(
        "/v1/materials",
        operation_id="list_materials",
        summary="Find materials by any part of a name",
        response_model=MaterialsPage,
        responses={
            200: shown(listed(MaterialsQuery(q="betaine", limit=1), {}).model_dump(mode="json")),
            **STILL,
        },
    )
    async def list_materials(
        request: Request, known: Known, query: Annotated[MaterialsQuery, Query()]
    ) -> Response:
        """Find materials by key, name or substance; your own stand in for the library's of the same key."""
        return kept_answer(request, listed(query, {} if known is None else known.materials))

    @router.get(
        "/v1/materials/{key}",
        operation_id="get_material",
        summary="Read one material as supplied",
        response_model=Material,
        responses={
            200: shown(rulebook.ingredients[_EXAMPLE].material.model_dump(mode="json", exclude_none=True)),
            **STILL,
        },
    )
    async def get_material(request: Request, here: Here, known: Known, key: Key) -> Response:
        """Read a material as it is supplied: your own where there is one of this key, else the library's."""
        own = {} if known is None else known.materials
        found = own.get(key) or here.rulebook.ingredients.get(key)
        if found is None:
            names = [*own, *here.rulebook.ingredients]
            nearest = here.rulebook.nearest_keys(key[:64], names)
            raise NotFound("There is no material of this key.", nearest_keys=nearest)
        return kept_answer(request, found.material, without_nulls=True)

    router.routes.extend(kept.routes)
    return router
