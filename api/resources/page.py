"""Serves the page: its document, its files, the samples and what this server offers."""

from importlib.util import find_spec
from pathlib import Path

from fastapi import FastAPI
from starlette.middleware.gzip import GZipMiddleware
from starlette.requests import Request
from starlette.responses import FileResponse, JSONResponse, Response
from starlette.staticfiles import StaticFiles
from starlette.types import Scope

from advisor.printing.page import style
from api.samples import samples

_FOLDER = Path(__file__).resolve().parent.parent / "page"
_KEEP_AND_ASK = {"Cache-Control": "no-cache"}


class PageFiles(StaticFiles):
    """The files of the page; a browser keeps them and asks whether they are still the same."""

    async def get_response(self, path: str, scope: Scope) -> Response:
        """Return one file."""
        response = await super().get_response(path, scope)
        response.headers.update(_KEEP_AND_ASK)
        return response


def add_page(app: FastAPI) -> None:
    """Serve the page at / and its files under /static."""

    async def page(_: Request) -> Response:
        return FileResponse(_FOLDER / "index.html", headers=_KEEP_AND_ASK)

    async def opened(_: Request) -> Response:
        items = [
            {"id": one.name, "title": one.title, "about": one.about, "path": one.path, "request": one.request}
            for one in samples()
        ]
        return JSONResponse({"items": items})

    async def offered(_: Request) -> Response:
        return JSONResponse({"notebook": find_spec("sqlalchemy") is not None})

    async def paper(_: Request) -> Response:
        return Response(style(), media_type="text/css", headers=_KEEP_AND_ASK)

    app.add_route("/static/styles/paper.css", paper, ["GET"], include_in_schema=False)
    app.add_route("/", page, ["GET"], include_in_schema=False)
    app.add_route("/static/samples.json", opened, ["GET"], include_in_schema=False)
    app.add_route("/static/offers.json", offered, ["GET"], include_in_schema=False)
    app.mount("/static", GZipMiddleware(PageFiles(directory=_FOLDER)), "page")
