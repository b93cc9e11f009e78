"""The one place that serves the counts of this server process."""

from fastapi import FastAPI
from starlette.requests import Request
from starlette.responses import Response

from api.guards.metrics import MEDIA_TYPE, Metrics
from api.notebook.desk import Desk


def add_metrics(app: FastAPI, metrics: Metrics, desk: Desk) -> None:
    """Serve /metrics, to whoever may use the server."""

    async def told(request: Request) -> Response:
        await desk.of(request)
        return Response(metrics.told(), media_type=MEDIA_TYPE)

    app.add_route("/metrics", told, ["GET"], include_in_schema=False)
