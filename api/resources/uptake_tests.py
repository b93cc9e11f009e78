"""Keeps bench tests of a powder's demand; the calculation itself keeps nothing."""

from typing import Any

from starlette.requests import Request
from starlette.responses import Response

from advisor.errors import Fault, InvalidRequest, NotInstalled, UnknownMaterial
from advisor.laboratory.uptake import measured
from advisor.recipe.request import known_materials, read_request
from advisor.schema.uptake_test import UptakeTest
from api.http.errors import NotFound
from api.http.negotiation import chosen
from api.http.reading import read_json, read_query
from api.notebook.access import ShopAccess
from api.notebook.answers import gone, kept_text, stored, text_of
from api.notebook.errors import IfMatchNeeded, KeyNeeded, Stale, Storage
from api.notebook.precondition import CHANGING, MAKING, Precondition
from api.operation import Operation
from api.settings import Settings
from api.shapes import Asking

_EXAMPLE: dict[str, Any] = {
    "material": "kaolin",
    "liquid": "betaine-30",
    "powder_grams": 20.0,
    "step_grams": 0.2,
    "repeats": [
        {"first_ball": 7.0, "smooth": 8.0, "sticks": 9.2},
        {"first_ball": 7.2, "smooth": 8.4, "sticks": 9.4},
        {"first_ball": 6.8, "smooth": 7.8, "sticks": 9.0},
    ],
}


def operations(settings: Settings, access: ShopAccess) -> list[Operation]:
    """Return the operations on the kept test of a material."""

    async def get_test(request: Request, key: str) -> Response:
        chosen(request)
        read_query(request, Asking)
        return kept_text(request, await access.read(request, lambda shop: shop.get("uptake_tests", (key,))))

    async def put_test(request: Request, key: str) -> Response:
        chosen(request)
        read_query(request, Asking)
        test: UptakeTest = read_request(UptakeTest, await read_json(request, settings.body_bytes_at_most))
        if test.material != key:
            fault = Fault("/material", "is not the key of the address")
            raise InvalidRequest("The test is of another material than its address.", [fault])
        if measured(test, known_materials(None, access.rulebook, await access.of(request))) is None:
            raise InvalidRequest(
                "The test holds no figures.", [Fault("/repeats", "needs one repeat or more")]
            )
        condition, body = Precondition.of(request.headers), text_of(test)
        new = await access.write(request, lambda shop: shop.put("uptake_tests", (key,), body, condition))
        return stored(body, new=new, address=f"/v1/materials/{key}/uptake-test")

    async def delete_test(request: Request, key: str) -> Response:
        chosen(request)
        read_query(request, Asking)
        condition = Precondition.of(request.headers)
        await access.write(request, lambda shop: shop.remove("uptake_tests", (key,), condition), makes=False)
        return gone()

    kept = (NotInstalled, KeyNeeded, Storage, InvalidRequest)
    path, place = "/v1/materials/{key}/uptake-test", {"key": "kaolin"}
    return [
        Operation(
            method="GET",
            path=path,
            operation_id="get_uptake_test",
            summary="Read the bench test of a powder",
            tag="Notebook",
            endpoint=get_test,
            parameters=place,
            answers={200: UptakeTest, 304: None},
            errors=(*kept, NotFound),
            example=lambda: _EXAMPLE,
        ),
        Operation(
            method="PUT",
            path=path,
            operation_id="put_uptake_test",
            summary="Keep the bench test of a powder as evidence of what it takes up",
            tag="Notebook",
            endpoint=put_test,
            parameters=place,
            request=UptakeTest,
            sent=lambda: _EXAMPLE,
            headers=MAKING,
            answers={201: UptakeTest, 200: UptakeTest},
            errors=(*kept, UnknownMaterial, Stale, IfMatchNeeded),
            example=lambda: _EXAMPLE,
        ),
        Operation(
            method="DELETE",
            path=path,
            operation_id="delete_uptake_test",
            summary="Forget the bench test of a powder",
            tag="Notebook",
            endpoint=delete_test,
            parameters=place,
            headers=CHANGING,
            answers={204: None},
            errors=(*kept, NotFound, Stale, IfMatchNeeded),
        ),
    ]
