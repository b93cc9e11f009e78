"""Recipes with a past: a change adds a version, and two who change one recipe cannot overwrite each other."""

from typing import Annotated, Any

from fastapi import Depends, Path, Query
from starlette.requests import Request
from starlette.responses import Response

from advisor.errors import InvalidRecipe, InvalidRequest, UnknownMaterial
from advisor.recipe.request import known_materials, read_formula, read_request
from advisor.schema.notebook import KeptRecipe, RecipesPage, RecipeVersion, VersionsPage
from api.dependencies import Condition, Here, Shop, routes, shop_of
from api.http.answering import STILL, gone, kept_answer, kept_text, shown, stored, text_of
from api.http.errors import NotFound
from api.http.queries import PageQuery, page
from api.http.route import Sent, raises

_SENT: dict[str, Any] = {
    "recipe": {
        "name": "Nettle bar",
        "lines": [
            {"material": "isethionate-powder", "percent": 62.0},
            {"material": "kaolin", "percent": 10.0},
            {"material": "betaine-30", "percent": 28.0},
        ],
    },
    "note": "A little less betaine: the last dough sagged.",
}
_KEY = "nettle-bar"
_KEPT = {**_SENT, "key": _KEY, "version": 2, "kept_on": "2031-03-09"}
_MOVED = [
    {"material": "isethionate-powder", "before": 60.0, "after": 62.0, "change": 2.0},
    {"material": "betaine-30", "before": 30.0, "after": 28.0, "change": -2.0},
]
_MADE = [{"id": "d-17", "made_on": "2031-03-10", "feel": "workable"}]
_TESTED = [{"test": "mush", "mean": 4.2, "spread": 0.6, "bars": 3, "against_last": "less"}]
_TOLD = {**_KEPT, "descends_from": None, "changes": _MOVED, "doughs": _MADE, "bar_tests": _TESTED}
Key = Annotated[str, Path(openapi_examples={"example": {"value": _KEY}})]


_EXAMPLES: dict[str, Any] = {"example": {"summary": "A next version", "value": _SENT}}
router = routes("Notebook", shop_of)


@router.get(
    "/v1/recipes",
    operation_id="list_recipes",
    summary="Read the newest version of each recipe",
    response_model=RecipesPage,
    responses={
        200: shown({"items": [{**_KEPT, "descends_from": None}], "next": None, "rules_version": "2031.1"}),
        **STILL,
    },
)
async def list_recipes(
    request: Request, here: Here, shop: Shop, query: Annotated[PageQuery, Query()]
) -> Response:
    """Read the newest version of each recipe."""
    every = await shop.read(lambda notebook: notebook.recipes())
    last = list({version.key: version for version in every}.values())
    return kept_answer(
        request, RecipesPage(**page(last, lambda one: one.key, query), rules_version=here.rulebook.edition)
    )


@router.get(
    "/v1/recipes/{key}",
    operation_id="get_recipe",
    summary="Read the newest version of a recipe",
    response_model=RecipeVersion,
    responses={200: shown(_KEPT), **STILL},
)
async def get_recipe(request: Request, shop: Shop, key: Key) -> Response:
    """Read the newest version of a recipe."""
    return kept_text(request, text_of(await shop.read(lambda notebook: notebook.recipe(key))))


@router.get(
    "/v1/recipes/{key}/versions",
    operation_id="list_versions",
    summary="Read the versions of a recipe: what each comes from, what changed, and what was made of it",
    response_model=VersionsPage,
    responses={200: shown({"items": [_TOLD], "next": None, "rules_version": "2031.1"}), **STILL},
)
async def list_versions(
    request: Request, here: Here, shop: Shop, key: Key, query: Annotated[PageQuery, Query()]
) -> Response:
    """Read the versions of a recipe."""
    past = await shop.read(lambda notebook: notebook.past(key))
    return kept_answer(
        request,
        VersionsPage(
            **page(past, lambda one: f"{one.version:07}", query), rules_version=here.rulebook.edition
        ),
    )


@router.put(
    "/v1/recipes/{key}",
    operation_id="put_recipe",
    summary="Keep a recipe as its next version; what says nothing new adds none",
    response_model=RecipeVersion,
    responses={
        200: shown(_KEPT),
        201: {"model": RecipeVersion, "description": "It is new.", **shown({**_KEPT, "version": 1})},
    },
)
@raises(InvalidRequest)
async def put_recipe(
    here: Here,
    shop: Shop,
    key: Key,
    sent: Annotated[Any, Depends(Sent(KeptRecipe, _EXAMPLES, raises=(InvalidRecipe, UnknownMaterial)))],
    condition: Condition,
) -> Response:
    """Keep a recipe as its next version."""
    wanted: RecipeVersion = read_request(
        RecipeVersion, {**dict(sent), "key": key, "version": 1, "kept_on": here.access.today}
    )
    known = known_materials(None, here.rulebook, await shop.read(lambda notebook: notebook.known()))
    read_formula(wanted.recipe, known)
    kept, new = await shop.write(lambda notebook: notebook.put_recipe(wanted, condition))
    return stored(text_of(kept), new=new, address=f"/v1/recipes/{key}")


@router.delete(
    "/v1/recipes/{key}",
    operation_id="delete_recipe",
    summary="Forget a recipe with its versions; the doughs that were made of it stay",
    status_code=204,
    response_class=Response,
)
@raises(NotFound)
async def delete_recipe(shop: Shop, key: Key, condition: Condition) -> Response:
    """Forget a recipe with its versions."""
    await shop.write(lambda notebook: notebook.remove_recipe(key, condition), makes=False)
    return gone()
