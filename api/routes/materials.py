"""The one place that answers for the materials of the library."""

from typing import Any

from starlette.requests import Request
from starlette.responses import Response

from advisor.errors import InvalidRequest
from advisor.rulebook import Rulebook
from advisor.shapes.material import Material
from api.answering import kept_answer
from api.catalogue import Catalogue
from api.errors import NotFound
from api.negotiation import chosen
from api.operation import Operation
from api.paging import page
from api.reading import read_query
from api.shapes import Asking, MaterialsPage, MaterialsQuery

_EXAMPLE = "betaine-30"


def operations(rulebook: Rulebook) -> list[Operation]:
    """Return the operations on materials."""
    catalogue = Catalogue.of(rulebook)

    def listed(query: MaterialsQuery) -> MaterialsPage:
        found = [] if query.own == "true" else catalogue.find(query.q or "", query.role)
        items, following = page(found, lambda material: material.key, query.after, query.limit)
        return MaterialsPage(items=items, next=following, rules_version=rulebook.edition)

    async def list_materials(request: Request) -> Response:
        chosen(request)
        return kept_answer(request, listed(read_query(request, MaterialsQuery)))

    async def get_material(request: Request, key: str) -> Response:
        chosen(request)
        read_query(request, Asking)
        found = rulebook.ingredients.get(key)
        if found is None:
            names = list(rulebook.ingredients)
            raise NotFound(
                "There is no material of this key.", nearest_keys=rulebook.nearest_keys(key[:64], names)
            )
        return kept_answer(request, found.material, without_nulls=True)

    def example_page() -> Any:
        return listed(MaterialsQuery(q="betaine", limit=1)).model_dump(mode="json")

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
            errors=(InvalidRequest,),
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
            errors=(InvalidRequest, NotFound),
            example=example_material,
        ),
    ]
