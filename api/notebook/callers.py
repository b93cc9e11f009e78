"""Who asks: the shop, the role and the key of a request, or the machine itself while there are no keys."""

import ipaddress
import logging
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, get_args

from starlette.requests import Request

from advisor.schema.base import Shape
from api.http.guards.log import write
from api.notebook.errors import KeyNeeded, RoleNeeded

if TYPE_CHECKING:
    from sqlalchemy.engine import Connection

Role = Literal["read", "bench", "owner"]
ROLES: tuple[Role, ...] = get_args(Role)
LOCAL = "local"
COOKIE = "dough_key"
_FORWARDED = ("forwarded", "x-forwarded-for")


class NewKey(Shape):
    """A key as it is shown, once."""

    id: str
    key: str
    shop: str
    label: str
    role: Role
    ends_at: int | None


@dataclass(frozen=True, slots=True)
class Caller:
    """Who asks.

    Parameters
    ----------
    shop : str
    role : str
        ``read`` looks and calculates, ``bench`` writes doughs, materials and lots too, ``owner`` does all.
    name : str
        The id of the key, without keys the address; what the log calls the caller.
    key : str, optional
        The id of the key.
    used_at : int, optional
        When the key was last seen in use [s since 1970].
    """

    shop: str
    role: Role
    name: str
    key: str | None = None
    used_at: int | None = None

    def require(self, least: Role, request: Request) -> None:
        """Refuse what this role may not do.

        Raises
        ------
        RoleNeeded
        """
        if ROLES.index(self.role) < ROLES.index(least):
            detail = f"The key is for the role {self.role}; this needs the role {least}."
            log(request, "key refused", self.name, cause=detail)
            raise RoleNeeded(detail)


def identified(connection: "Connection", request: Request, now: int) -> Caller:
    """Return who asks.

    Raises
    ------
    KeyNeeded
        Shops are told apart by keys and it carries no valid one, or there are none and it comes from afar.
    """
    from api.notebook import keys

    if not keys.any_made(connection):
        return on_this_machine(request)
    sent = _sent(request)
    if sent is None:
        raise _refused(request, address_of(request), "The request carries no key.")
    found = keys.found(connection, sent)
    if found is None:
        raise _refused(request, address_of(request), "The request carries no key that was ever made here.")
    if found.revoked_at is not None:
        raise _refused(request, found.id, "The key was revoked.")
    if found.ends_at is not None and found.ends_at <= now:
        raise _refused(request, found.id, "The key has reached its end.")
    return Caller(found.shop, found.role, found.id, found.id, found.used_at)


def on_this_machine(request: Request) -> Caller:
    """Return the caller without keys: whoever is on the machine of the server.

    Raises
    ------
    KeyNeeded
        It comes from another machine, or by a proxy on this one, which speaks for others.
    """
    address = address_of(request)
    if not _is_loopback(address) or any(name in request.headers for name in _FORWARDED):
        raise _refused(
            request, address, "Without keys the notebook is open only on the machine the server runs on."
        )
    return Caller(LOCAL, "owner", address)


def address_of(request: Request) -> str:
    """Return the address a request comes from; behind a proxy, the proxy's."""
    return "" if request.client is None else request.client.host


def log(request: Request, event: str, caller: str, *, level: int = logging.WARNING, **facts: object) -> None:
    """Write one line about who did or was refused what; never a key, never what was sent."""
    write(level, event, getattr(request.state, "request_id", ""), caller=caller, **facts)


def _refused(request: Request, caller: str, why: str) -> KeyNeeded:
    log(request, "key refused", caller, cause=why)
    return KeyNeeded(why, headers={"WWW-Authenticate": 'Bearer realm="dough-advisor"'})


def _sent(request: Request) -> str | None:
    scheme, _, key = request.headers.get("authorization", "").partition(" ")
    if scheme.casefold() == "bearer" and key.strip():
        return key.strip()
    return request.cookies.get(cookie_of(request))


def is_https(request: Request) -> bool:
    """Tell whether the browser speaks HTTPS, with this server or with the proxy before it.

    A proxy is taken at its word: who claims it falsely only gets a cookie that his browser never sends.
    """
    return "https" in (request.url.scheme, request.headers.get("x-forwarded-proto", "").casefold())


def cookie_of(request: Request) -> str:
    """Return the name of the cookie; over HTTPS one that no other host and no plain page can set."""
    return f"__Host-{COOKIE}" if is_https(request) else COOKIE


def _is_loopback(host: str) -> bool:
    """Tell whether an address is this machine's; what is no address came through no network."""
    try:
        address = ipaddress.ip_address(host.partition("%")[0])
    except ValueError:
        return True
    return (getattr(address, "ipv4_mapped", None) or address).is_loopback
