"""Serves the page about the API; its scripts and styles come from an installed package."""

from importlib.resources import files
from pathlib import Path

from fastapi import FastAPI
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response
from starlette.staticfiles import StaticFiles

_FOLDER = Path(__file__).resolve().parent.parent / "docs"


def add_docs(app: FastAPI) -> None:
    """Serve /docs, to everybody."""
    page = (_FOLDER / "index.html").read_text(encoding="utf-8")
    script = (_FOLDER / "start.js").read_text(encoding="utf-8")

    async def docs(_: Request) -> Response:
        return HTMLResponse(page)

    async def start(_: Request) -> Response:
        return Response(script, media_type="text/javascript")

    app.add_route("/docs", docs, ["GET"], include_in_schema=False)
    app.add_route("/docs/start.js", start, ["GET"], include_in_schema=False)
    app.mount("/docs/assets", StaticFiles(directory=str(files("fastapi_offline") / "static")), "docs-assets")
