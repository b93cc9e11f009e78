"""Turns away addresses that cannot name anything: those with control characters."""

import re

from starlette.types import Receive, Scope, Send

from api.http.errors import NotFound
from api.http.guards.guard import Guard

_CONTROL = re.compile(r"[\x00-\x1f\x7f]")


class Addresses(Guard):
    """Lets through addresses of characters a name may have; a database would stumble over the others."""

    async def serve(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Serve one request."""
        if _CONTROL.search(scope["path"]):
            raise NotFound("Nothing is kept under this address.")
        await self.app(scope, receive, send)
