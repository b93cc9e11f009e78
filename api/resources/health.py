"""Tells whether the server works, and with what."""

from importlib.metadata import PackageNotFoundError, version

from starlette.requests import Request
from starlette.responses import Response

from advisor.errors import InvalidRequest
from advisor.rulebook.load import Rulebook
from advisor.schema.server import Health
from api.http.answering import json_answer
from api.http.negotiation import chosen
from api.http.reading import read_query
from api.operation import Operation
from api.shapes import Asking


def package_version() -> str:
    """Return the version of this package; ``0+unknown`` in a checkout that was never installed."""
    try:
        return version("dough-advisor")
    except PackageNotFoundError:
        return "0+unknown"


def operations(rulebook: Rulebook) -> list[Operation]:
    """Return the operation on health."""
    health = Health(
        status="ok",
        version=package_version(),
        rules_version=rulebook.edition,
        solver=f"HiGHS {version('highspy')} through PuLP {version('pulp')}",
    )

    async def get_health(request: Request) -> Response:
        chosen(request)
        read_query(request, Asking)
        return json_answer(health)

    return [
        Operation(
            method="GET",
            path="/health",
            operation_id="get_health",
            summary="Ask whether the server works, and with which rules",
            tag="Server",
            endpoint=get_health,
            answers={200: Health},
            errors=(InvalidRequest,),
            example=lambda: health.model_dump(mode="json"),
        )
    ]
