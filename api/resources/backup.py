"""Hands out one consistent file of all that the server keeps, and tells whether it can be read."""

import tempfile
from pathlib import Path

from starlette.background import BackgroundTask
from starlette.requests import Request
from starlette.responses import FileResponse, Response

from advisor.errors import InvalidRequest, NotInstalled
from advisor.schema.server import Readiness
from api.http.answering import json_answer
from api.http.errors import NotFound
from api.http.negotiation import chosen
from api.http.reading import read_query
from api.notebook.access import ShopAccess
from api.notebook.errors import KeyNeeded, RoleNeeded, Storage
from api.operation import Operation
from api.shapes import Asking

_SQLITE = "application/vnd.sqlite3"


def operations(access: ShopAccess) -> list[Operation]:
    """Return the operations on the server's storage."""

    async def get_backup(request: Request) -> Response:
        chosen(request, (_SQLITE,))
        read_query(request, Asking)
        folder = tempfile.TemporaryDirectory(prefix="dough-backup-")
        target = Path(folder.name) / "dough-notebook.sqlite3"
        try:
            await access.backup(request, target)
        except BaseException:
            folder.cleanup()
            raise
        return FileResponse(
            target,
            media_type=_SQLITE,
            filename=target.name,
            headers={"Cache-Control": "no-store"},
            background=BackgroundTask(folder.cleanup),
        )

    async def get_ready(request: Request) -> Response:
        chosen(request)
        read_query(request, Asking)
        await access.ready(request)
        return json_answer(Readiness(status="ready", storage="ok"))

    return [
        Operation(
            method="GET",
            path="/v1/backup",
            operation_id="get_backup",
            summary="Take a backup of all that is kept, as one file that dough-advisor restore puts back",
            tag="Notebook",
            endpoint=get_backup,
            answers={200: None},
            errors=(NotInstalled, KeyNeeded, RoleNeeded, NotFound, Storage, InvalidRequest),
            forms={_SQLITE: "The notebook's tables as one file of SQLite."},
        ),
        Operation(
            method="GET",
            path="/ready",
            operation_id="get_ready",
            summary="Ask whether what is stored can be read now",
            tag="Server",
            endpoint=get_ready,
            answers={200: Readiness},
            errors=(InvalidRequest, Storage),
            example=lambda: {"status": "ready", "storage": "ok"},
        ),
    ]
