"""What a shop's doughs have taught."""

from dataclasses import replace
from typing import Annotated

from fastapi import APIRouter, Query
from pydantic import Field
from starlette.requests import Request
from starlette.responses import Response

from advisor.errors import NotInstalled
from advisor.recipe.notebook import Notebook
from advisor.registry import task
from advisor.rulebook.load import Rulebook
from api.dependencies import Here, Known, known_by, routes
from api.http.answering import STILL, kept_answer, shown
from api.http.queries import Asking
from api.http.route import raises


class WindowQuery(Asking):
    """What is to count: every judgement of the notebook, or only the ``first`` so many."""

    first: Annotated[int, Field(ge=0, le=1_000_000)] | None = None


def router(rulebook: Rulebook) -> APIRouter:
    """Return the route of the window."""
    router, told = routes("Notebook", known_by), task("window_of")

    @router.get(
        f"/v1/{told.address}",
        operation_id="get_window",
        summary="Read where your doughs are workable, what powders take up, and what to measure next",
        response_model=told.answer,
        responses={200: shown(told.function(rulebook=rulebook).model_dump(mode="json")), **STILL},
    )
    @raises(NotInstalled)
    async def get_window(
        request: Request, here: Here, known: Known, query: Annotated[WindowQuery, Query()]
    ) -> Response:
        """Read what the kept doughs have taught; without any, what is guessed at first."""
        here.access.open()
        notebook = _first(known, query.first)
        return kept_answer(request, told.function(rulebook=here.rulebook, notebook=notebook))

    return router


def _first(notebook: Notebook | None, judgements: int | None) -> Notebook | None:
    """Return the notebook as it was after so many judgements."""
    if notebook is None or judgements is None:
        return notebook
    return replace(notebook, doughs=notebook.doughs[:judgements], names=notebook.names[:judgements])
