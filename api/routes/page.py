"""The one place that serves the page: its document, its static files, and the samples it opens."""

import json
import tomllib
from importlib.resources import files
from pathlib import Path
from typing import Any

from fastapi import APIRouter
from starlette.responses import FileResponse, JSONResponse, Response
from starlette.staticfiles import StaticFiles
from starlette.types import Scope

PAGE = Path(__file__).resolve().parent.parent / "page"
_KEEP_AND_ASK = {"Cache-Control": "no-cache"}

router = APIRouter(include_in_schema=False)


class PageFiles(StaticFiles):
    """The files of the page; a browser keeps them and asks whether they are still the same."""

    async def get_response(self, path: str, scope: Scope) -> Response:
        """Return one file."""
        response = await super().get_response(path, scope)
        response.headers.update(_KEEP_AND_ASK)
        return response


@router.get("/")
async def show_page() -> Response:
    """Return the page at the bench."""
    return FileResponse(PAGE / "index.html", headers=_KEEP_AND_ASK)


@router.get("/page/samples")
async def list_samples() -> Response:
    """Return the samples with their requests, in the order of their index."""
    return JSONResponse({"items": load_samples()}, headers=_KEEP_AND_ASK)


def load_samples() -> list[dict[str, Any]]:
    """Return each sample's id, title, what it is about, the call it is for, and its request.

    Examples
    --------
    >>> load_samples()[0]["title"]
    'Too wet'
    """
    folder = files("samples")
    index = tomllib.loads((folder / "samples.toml").read_text(encoding="utf-8"))
    return [
        {"id": name, **entry, "request": json.loads((folder / f"{name}.json").read_text(encoding="utf-8"))}
        for name, entry in index.items()
    ]


router.mount("/static", PageFiles(directory=PAGE), name="static")
