"""Turns away addresses that cannot name anything: those with control characters."""

import re

from starlette.types import ASGIApp, Receive, Scope, Send

from api.http.errors import NotFound

_CONTROL = re.compile(r"[\x00-\x1f\x7f]")


class Addresses:
    """Lets through addresses of characters a name may have; a database would stumble over the others."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Serve one request."""
        if scope["type"] == "http" and _CONTROL.search(scope["path"]):
            raise NotFound("Nothing is kept under this address.")
        await self.app(scope, receive, send)
