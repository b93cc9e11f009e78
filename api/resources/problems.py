"""Explains every problem code, as JSON or as a page."""

import inspect
from html import escape

from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from advisor.errors import InvalidRequest
from api.http.answering import kept_answer
from api.http.errors import NotFound
from api.http.negotiation import JSON, chosen
from api.http.problems import catalogue
from api.http.reading import read_query
from api.operation import Operation
from api.shapes import Asking, ProblemPage

_HTML = "text/html"
_EXAMPLE = "no-recipe-fits"


def operations() -> list[Operation]:
    """Return the operation that explains problems."""
    pages = {code: _page(code) for code in catalogue()}

    async def explain_problem(request: Request, code: str) -> Response:
        form = chosen(request, (JSON, _HTML))
        read_query(request, Asking)
        page = pages.get(code)
        if page is None:
            raise NotFound("There is no problem of this code.")
        if form == _HTML:
            return HTMLResponse(_html(page), headers={"Vary": "Accept"})
        answer = kept_answer(request, page)
        answer.headers["Vary"] = "Accept"
        return answer

    return [
        Operation(
            method="GET",
            path="/problems/{code}",
            operation_id="explain_problem",
            summary="Read what a problem code means and what to do about it",
            tag="Server",
            endpoint=explain_problem,
            parameters={"code": _EXAMPLE},
            answers={200: ProblemPage, 304: None},
            errors=(InvalidRequest, NotFound),
            forms={_HTML: "The same as a page."},
            example=lambda: pages[_EXAMPLE].model_dump(mode="json"),
        )
    ]


def _page(code: str) -> ProblemPage:
    kind = catalogue()[code]
    return ProblemPage(
        code=code,
        title=kind.title,
        status=kind.status,
        meaning=(inspect.getdoc(kind) or kind.title).replace("``", ""),
        remedy=kind.remedy,
    )


def _html(page: ProblemPage) -> str:
    return (
        '<!doctype html><html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f"<title>{escape(page.title)}</title></head><body><main><h1>{escape(page.title)}</h1>"
        f"<p>{escape(page.meaning)}</p><p>{escape(page.remedy)}</p>"
        f"<p><code>{escape(page.code)}</code>, status {page.status}</p></main></body></html>"
    )
