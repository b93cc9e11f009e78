"""Bench tests of a powder's demand that are kept; the calculation itself keeps nothing."""

from typing import Annotated, Any

from fastapi import APIRouter, Path

from advisor.errors import Fault, InvalidRequest, UnknownMaterial
from advisor.laboratory.uptake import measured
from advisor.recipe.request import KnownMaterials
from advisor.schema.material import UptakeTest
from api.resources.kept import Name, router_of

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


async def _name(key: Annotated[str, Path(openapi_examples={"example": {"value": "kaolin"}})]) -> Name:
    return (key,)


def _check(test: UptakeTest, name: Name, known: KnownMaterials) -> None:
    if test.material != name[0]:
        fault = Fault("/material", "is not the key of the address")
        raise InvalidRequest("The test is of another material than its address.", [fault])
    if measured(test, known) is None:
        fault = Fault("/repeats", "needs one repeat or more")
        raise InvalidRequest("The test holds no figures.", [fault])


def router() -> APIRouter:
    """Return the routes of the kept test of a material."""
    return router_of(
        kind="uptake_tests",
        word="uptake_test",
        about="the bench test of a powder",
        putting="Keep the bench test of a powder as evidence of what it takes up",
        path="/v1/materials/{key}/uptake-test",
        name_of=_name,
        shape=UptakeTest,
        check=_check,
        example=_EXAMPLE,
        errors=(UnknownMaterial,),
    )
