"""Serves the page: its document, and its parts, joined once and named by their content."""

import gzip
import json
from hashlib import sha256
from importlib.util import find_spec
from pathlib import Path

from fastapi import FastAPI
from starlette.requests import Request
from starlette.responses import Response

from advisor.printing.page import style
from advisor.rulebook.load import Rulebook
from api.http.queries import LongPageQuery
from api.joining import modules, styles
from api.resources.rules import feels
from api.samples import samples
from api.settings import Settings

_FOLDER = Path(__file__).resolve().parent.parent / "page"
_SHEET = "/static/page.css"
_ASK = {"Cache-Control": "no-cache"}
_FOR_GOOD = {"Cache-Control": "public, max-age=31536000, immutable"}
_WORKER = {**_ASK, "Content-Security-Policy": "default-src 'none'; connect-src 'self'"}
_MEDIA = {"js": "text/javascript", "css": "text/css", "json": "application/json", "svg": "image/svg+xml"}


def add_page(app: FastAPI, rulebook: Rulebook, settings: Settings) -> None:
    """Serve the page at / and its parts under /static."""
    sheet, document = styles(_text("index.html"), _FOLDER, _SHEET)
    parts = {
        "/static/modules/theme.js": _text("modules/theme.js"),
        "/static/modules/start.js": modules(_FOLDER / "modules" / "start.js"),
        "/static/pictures/bar.svg": _text("pictures/bar.svg"),
        "/static/start.json": _known_at_start(rulebook, settings),
        "/static/samples.json": _openable(),
        _SHEET: sheet,
    }
    names = ["/"]
    for name, text in parts.items():
        stem, end = Path(name).name.split(".")
        hashed = f"/static/{stem}.{_digest(text)}.{end}"
        document = document.replace(name, hashed)
        names.append(hashed)
        _serve(app, hashed, text, _MEDIA[end], _FOR_GOOD)
    document = document.replace("<!-- icons -->", _text("pictures/icons.svg"))
    _serve(app, "/", document, "text/html", _ASK)
    worker = _text("worker.js").replace("VERSION", _digest(document)).replace('["/"]', json.dumps(names))
    _serve(app, "/worker.js", worker, _MEDIA["js"], _WORKER)
    _serve(app, "/static/styles/paper.css", style(), _MEDIA["css"], _ASK)


def _serve(app: FastAPI, path: str, text: str, media: str, headers: dict[str, str]) -> None:
    plain = text.encode()
    packed = gzip.compress(plain)
    tag = {"ETag": f'"{_digest(text)}"', "Vary": "Accept-Encoding", **headers}

    async def answer(request: Request) -> Response:
        if request.headers.get("if-none-match") == tag["ETag"]:
            return Response(status_code=304, media_type=media, headers=tag)
        if "gzip" in request.headers.get("accept-encoding", ""):
            return Response(packed, media_type=media, headers={**tag, "Content-Encoding": "gzip"})
        return Response(plain, media_type=media, headers=tag)

    app.add_route(path, answer, ["GET"], include_in_schema=False)


def _known_at_start(rulebook: Rulebook, settings: Settings) -> str:
    """Return what the page needs before it draws: its words, those for doughs, what the server offers."""
    return json.dumps(
        {
            "texts": json.loads(_text("texts/en.json")),
            "words": feels(rulebook, LongPageQuery()).model_dump(mode="json"),
            "offers": {"notebook": find_spec("sqlalchemy") is not None, "currency": settings.facts.currency},
            "writing": vars(settings.writing),
        }
    )


def _openable() -> str:
    return json.dumps(
        {
            "items": [
                {
                    "id": one.name,
                    "title": one.title,
                    "about": one.about,
                    "path": one.path,
                    "request": one.request,
                }
                for one in samples()
            ]
        }
    )


def _text(name: str) -> str:
    return (_FOLDER / name).read_text(encoding="utf-8")


def _digest(text: str) -> str:
    return sha256(text.encode()).hexdigest()[:12]
