"""One consistent file of all that the server keeps, and whether it can be read."""

import tempfile
from pathlib import Path

from starlette.background import BackgroundTask
from starlette.requests import Request
from starlette.responses import FileResponse, Response

from advisor.errors import NotInstalled
from advisor.schema.server import Readiness
from api.dependencies import Here, admitted, routes
from api.http.answering import json_answer, shown
from api.http.errors import NotFound
from api.http.route import raises
from api.notebook.errors import RoleNeeded, Storage

SQLITE = "application/vnd.sqlite3"
router = routes("Notebook", admitted)
ready = routes("Server")


class BackupFile(FileResponse):
    """A file of SQLite."""

    media_type = SQLITE


@router.get(
    "/v1/backup",
    operation_id="get_backup",
    summary="Take a backup of all that is kept, as one file that dough-advisor restore puts back",
    response_class=BackupFile,
)
@raises(NotInstalled, RoleNeeded, NotFound)
async def get_backup(request: Request, here: Here) -> Response:
    """Take a backup of all that is kept."""
    folder = tempfile.TemporaryDirectory(prefix="dough-backup-")
    target = Path(folder.name) / "dough-notebook.sqlite3"
    try:
        await here.access.backup(request, target)
    except BaseException:
        folder.cleanup()
        raise
    return BackupFile(
        target,
        filename=target.name,
        headers={"Cache-Control": "no-store"},
        background=BackgroundTask(folder.cleanup),
    )


@ready.get(
    "/ready",
    operation_id="get_ready",
    summary="Ask whether what is stored can be read now",
    response_model=Readiness,
    responses={200: shown({"status": "ready", "storage": "ok"})},
)
@raises(Storage)
async def get_ready(request: Request, here: Here) -> Response:
    """Ask whether what is stored can be read now."""
    await here.access.ready(request)
    return json_answer(Readiness(status="ready", storage="ok"))


router.routes.extend(ready.routes)
