"""What one server process works with, and where a request finds it."""

from dataclasses import dataclass

from starlette.requests import Request

from advisor.rulebook.load import Rulebook
from api.ending import Ending
from api.http.guards.metrics import Metrics
from api.notebook.access import ShopAccess
from api.settings import Settings
from api.sweeping import Sweeping
from api.work import Work


@dataclass(frozen=True)
class Server:
    """The settings, the rules, the notebooks and the workers of one process."""

    settings: Settings
    rulebook: Rulebook
    access: ShopAccess
    work: Work
    sweeping: Sweeping
    metrics: Metrics
    ending: Ending


async def server_of(request: Request) -> Server:
    """Return the server a request came to."""
    found: Server = request.app.state.server
    return found
