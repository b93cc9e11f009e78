"""The one place that tells what a shop's doughs have taught."""

from starlette.requests import Request
from starlette.responses import Response

from advisor.errors import NotInstalled
from advisor.shapes.window import WindowAnswer
from advisor.tasks.window_of import window_of
from api.answering import kept_answer
from api.negotiation import chosen
from api.notebook.desk import Desk
from api.notebook.errors import KeyNeeded, Storage
from api.operation import Operation
from api.reading import read_query
from api.shapes import Asking


def operations(desk: Desk) -> list[Operation]:
    """Return the operation on the window."""

    async def get_window(request: Request) -> Response:
        chosen(request)
        read_query(request, Asking)
        desk.open()
        notebook = await desk.of(request)
        return kept_answer(request, window_of(rulebook=desk.rulebook, notebook=notebook))

    return [
        Operation(
            method="GET",
            path="/v1/window",
            operation_id="get_window",
            summary="Read where your doughs are workable, what powders take up, and what to measure next",
            tag="Notebook",
            endpoint=get_window,
            answers={200: WindowAnswer, 304: None},
            errors=(NotInstalled, KeyNeeded, Storage),
            example=lambda: window_of(rulebook=desk.rulebook).model_dump(mode="json"),
        )
    ]
