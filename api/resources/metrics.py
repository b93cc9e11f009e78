"""The counts of this server process."""

from fastapi import APIRouter
from starlette.responses import Response

from api.dependencies import Here, Shop
from api.http.guards.metrics import MEDIA_TYPE

router = APIRouter(include_in_schema=False)


@router.get("/metrics")
async def told(here: Here, _: Shop) -> Response:
    """Tell the counts to whoever may use the server."""
    return Response(here.metrics.told(), media_type=MEDIA_TYPE)
