"""Whether the server works, and with what."""

from importlib.metadata import PackageNotFoundError, version

from fastapi import APIRouter
from starlette.responses import Response

from advisor.rulebook.load import Rulebook
from advisor.schema.server import Health
from api.dependencies import routes
from api.http.answering import json_answer, shown


def package_version() -> str:
    """Return the version of this package; ``0+unknown`` in a checkout that was never installed."""
    try:
        return version("dough-advisor")
    except PackageNotFoundError:
        return "0+unknown"


def router(rulebook: Rulebook) -> APIRouter:
    """Return the route of health."""
    health = Health(
        status="ok",
        version=package_version(),
        rules_version=rulebook.edition,
        solver=f"HiGHS {version('highspy')} through PuLP {version('pulp')}",
    )
    router = routes("Server")

    @router.get(
        "/health",
        operation_id="get_health",
        summary="Ask whether the server works, and with which rules",
        response_model=Health,
        responses={200: shown(health.model_dump(mode="json"))},
    )
    async def get_health() -> Response:
        """Ask for the versions of program, rules and solver; needs no key and waits for no calculation."""
        return json_answer(health)

    return router
