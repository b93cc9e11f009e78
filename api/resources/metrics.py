"""Serves the counts of this server process."""

from fastapi import FastAPI
from starlette.requests import Request
from starlette.responses import Response

from api.http.guards.metrics import MEDIA_TYPE, Metrics
from api.notebook.access import ShopAccess


def add_metrics(app: FastAPI, metrics: Metrics, access: ShopAccess) -> None:
    """Serve /metrics, to whoever may use the server."""

    async def told(request: Request) -> Response:
        await access.of(request)
        return Response(metrics.told(), media_type=MEDIA_TYPE)

    app.add_route("/metrics", told, ["GET"], include_in_schema=False)
