"""What the server has done so far, for its owner."""

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from advisor.errors import NotInstalled
from api.dependencies import Here
from api.http.guards.metrics import MEDIA_TYPE
from api.notebook.callers import on_this_machine

router = APIRouter(include_in_schema=False)


@router.get("/metrics")
async def told(request: Request, here: Here) -> Response:
    """Tell the counts of all processes to the owner of the server."""
    try:
        await here.access.read(request, lambda notebook: notebook.first(), least="owner")
    except NotInstalled:
        on_this_machine(request)
    return Response(here.metrics.told(), headers={"Content-Type": MEDIA_TYPE})
