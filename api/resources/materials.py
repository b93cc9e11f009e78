"""Answers for materials: the shop's own and those of the library."""

from collections.abc import Mapping
from typing import Any

from starlette.requests import Request
from starlette.responses import Response

from advisor.errors import InvalidRequest
from advisor.rulebook.ingredient import Ingredient
from advisor.schema.material import Material
from advisor.schema.server import MaterialsPage
from api.http.answering import kept_answer
from api.http.errors import NotFound
from api.http.negotiation import chosen
from api.http.paging import page
from api.http.reading import read_query
from api.notebook.access import ShopAccess
from api.notebook.errors import KeyNeeded, Storage
from api.operation import Operation
from api.resources.catalogue import Catalogue
from api.shapes import Asking, MaterialsQuery

_EXAMPLE = "betaine-30"


def operations(access: ShopAccess) -> list[Operation]:
    """Return the operations on materials."""
    rulebook = access.rulebook
    library = Catalogue.of(rulebook.ingredients)

    def listed(query: MaterialsQuery, own: Mapping[str, Ingredient]) -> MaterialsPage:
        kept = Catalogue.of(own).find(query.q or "", query.role)
        found = [] if query.own == "true" else library.find(query.q or "", query.role)
        if query.own != "false":
            found = sorted((*kept, *(one for one in found if one.key not in own)), key=lambda one: one.key)
        items, following = page(found, lambda material: material.key, query.after, query.limit)
        return MaterialsPage(items=items, next=following, rules_version=rulebook.edition)

    async def list_materials(request: Request) -> Response:
        chosen(request)
        query = read_query(request, MaterialsQuery)
        shop = await access.of(request)
        return kept_answer(request, listed(query, {} if shop is None else shop.materials))

    async def get_material(request: Request, key: str) -> Response:
        chosen(request)
        read_query(request, Asking)
        shop = await access.of(request)
        own = {} if shop is None else shop.materials
        found = own.get(key) or rulebook.ingredients.get(key)
        if found is None:
            names = [*own, *rulebook.ingredients]
            raise NotFound(
                "There is no material of this key.", nearest_keys=rulebook.nearest_keys(key[:64], names)
            )
        return kept_answer(request, found.material, without_nulls=True)

    def example_page() -> Any:
        return listed(MaterialsQuery(q="betaine", limit=1), {}).model_dump(mode="json")

    def example_material() -> Any:
        return rulebook.ingredients[_EXAMPLE].material.model_dump(mode="json", exclude_none=True)

    return [
        Operation(
            method="GET",
            path="/v1/materials",
            operation_id="list_materials",
            summary="Find materials by any part of a name",
            tag="Materials",
            endpoint=list_materials,
            query=MaterialsQuery,
            parameters={"q": "betaine", "limit": 1},
            answers={200: MaterialsPage, 304: None},
            errors=(InvalidRequest, KeyNeeded, Storage),
            example=example_page,
        ),
        Operation(
            method="GET",
            path="/v1/materials/{key}",
            operation_id="get_material",
            summary="Read one material as supplied",
            tag="Materials",
            endpoint=get_material,
            parameters={"key": _EXAMPLE},
            answers={200: Material, 304: None},
            errors=(InvalidRequest, NotFound, KeyNeeded, Storage),
            example=example_material,
        ),
    ]
