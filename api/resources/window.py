"""Tells what a shop's doughs have taught."""

from dataclasses import replace
from typing import Annotated

from pydantic import Field
from starlette.requests import Request
from starlette.responses import Response

from advisor.errors import InvalidRequest, NotInstalled
from advisor.experiment.window import window_of
from advisor.experiment.window_schema import WindowAnswer
from advisor.recipe.notebook import Notebook
from api.http.answering import kept_answer
from api.http.negotiation import chosen
from api.http.reading import read_query
from api.notebook.access import ShopAccess
from api.notebook.errors import KeyNeeded, Storage
from api.operation import Operation
from api.shapes import Asking


class WindowQuery(Asking):
    """What is to count: every judgement of the notebook, or only the ``first`` so many."""

    first: Annotated[int, Field(ge=0, le=1_000_000)] | None = None


def operations(access: ShopAccess) -> list[Operation]:
    """Return the operation on the window."""

    async def get_window(request: Request) -> Response:
        chosen(request)
        query = read_query(request, WindowQuery)
        access.open()
        notebook = _first(await access.of(request), query.first)
        return kept_answer(request, window_of(rulebook=access.rulebook, notebook=notebook))

    return [
        Operation(
            method="GET",
            path="/v1/window",
            operation_id="get_window",
            summary="Read where your doughs are workable, what powders take up, and what to measure next",
            tag="Notebook",
            endpoint=get_window,
            query=WindowQuery,
            parameters={"first": 10},
            answers={200: WindowAnswer, 304: None},
            errors=(NotInstalled, KeyNeeded, Storage, InvalidRequest),
            example=lambda: window_of(rulebook=access.rulebook).model_dump(mode="json"),
        )
    ]


def _first(notebook: Notebook | None, judgements: int | None) -> Notebook | None:
    """Return the notebook as it was after so many judgements."""
    if notebook is None or judgements is None:
        return notebook
    return replace(notebook, doughs=notebook.doughs[:judgements], names=notebook.names[:judgements])
