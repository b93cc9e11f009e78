"""Serves the help under /help, to everybody; it asks no other host and runs no script."""

from functools import cache
from pathlib import Path

from fastapi import FastAPI
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from api.help.contents import entries, text
from api.http.errors import NotFound

_FOLDER = Path(__file__).resolve().parent.parent / "help"


def add_help(app: FastAPI) -> None:
    """Serve every page of the help and their style; a page is written when it is first asked for."""
    sheet = (_FOLDER / "help.css").read_text(encoding="utf-8")

    @cache
    def written(name: str) -> str:
        from api.help.rendering import as_page

        return as_page(name, text(name, app.openapi()))

    def page(request: Request) -> Response:
        name = request.path_params.get("name") or "index"
        if name != "index" and name not in {one.name for one in entries()}:
            raise NotFound("There is no such page of the help: /help lists them.")
        return HTMLResponse(written(name))

    async def first(_: Request) -> Response:
        return RedirectResponse("help/")

    async def style(_: Request) -> Response:
        return Response(sheet, media_type="text/css")

    app.add_route("/help", first, ["GET"], include_in_schema=False)
    app.add_route("/help/help.css", style, ["GET"], include_in_schema=False)
    app.add_route("/help/{name:path}", page, ["GET"], include_in_schema=False)
