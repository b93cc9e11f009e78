"""Refuses a request made under a name this server does not go by (DNS rebinding)."""

import ipaddress
import re
from collections.abc import Sequence

from starlette.datastructures import Headers
from starlette.types import ASGIApp, Receive, Scope, Send

from api.http.errors import WrongHost
from api.http.guards.guard import Guard

_HOST = re.compile(r"(?:\[(?P<address>[0-9a-fA-F:.]+)\]|(?P<name>[^\[\]:/@]+))(?::[0-9]{1,5})?")


class Hosts(Guard):
    """Lets through the names set and any IP address: an address cannot be rebound."""

    def __init__(self, app: ASGIApp, *, names: Sequence[str]) -> None:
        super().__init__(app)
        self.names = frozenset(name.lower() for name in names)

    async def serve(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Serve one request."""
        if "*" not in self.names and not self._ours(Headers(scope=scope)):
            raise WrongHost("The header Host names another server.")
        await self.app(scope, receive, send)

    def _ours(self, headers: Headers) -> bool:
        hosts = headers.getlist("host")
        if len(hosts) != 1:
            return False
        name = _name(hosts[0])
        return name in self.names or _is_address(name)


def _name(host: str) -> str:
    found = _HOST.fullmatch(host)
    return (found["address"] or found["name"]).lower() if found else ""


def _is_address(name: str) -> bool:
    try:
        ipaddress.ip_address(name)
    except ValueError:
        return False
    return True
