"""Every problem code explained, as JSON or as a page."""

import inspect
from html import escape
from typing import Annotated

from fastapi import APIRouter, Path
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from api.dependencies import Form, routes
from api.http.answering import STILL, kept_answer, shown
from api.http.errors import existing
from api.http.problem_shapes import ProblemPage
from api.http.problems import catalogue

_HTML = "text/html"
_EXAMPLE = "no-recipe-fits"


def router() -> APIRouter:
    """Return the route that explains problems."""
    pages = {code: _page(code) for code in catalogue()}
    router = routes("Server")

    @router.get(
        "/problems/{code}",
        operation_id="explain_problem",
        summary="Read what a problem code means and what to do about it",
        response_model=ProblemPage,
        responses={
            200: shown(pages[_EXAMPLE].model_dump(mode="json"), {_HTML: "The same as a page."}),
            **STILL,
        },
    )
    async def explain_problem(
        request: Request,
        form: Form,
        code: Annotated[str, Path(openapi_examples={"example": {"value": _EXAMPLE}})],
    ) -> Response:
        """Read where a problem comes from and what mends it; every problem has this address as its type."""
        page = existing(pages.get(code), "There is no problem of this code.")
        vary = {"Vary": "Accept"}
        if form == _HTML:
            return HTMLResponse(_html(page), headers=vary)
        answer = kept_answer(request, page, private=False)
        answer.headers.update(vary)
        return answer

    return router


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
