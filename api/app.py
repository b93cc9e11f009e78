"""Where the server is put together."""

import asyncio
import gc
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager

from fastapi import APIRouter, FastAPI
from fastapi.exceptions import RequestValidationError
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.middleware.cors import CORSMiddleware
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Match

from advisor.rulebook.load import Rulebook, load_rulebook
from advisor.sweeps.executor import cores
from api.description import ABOUT, LICENSE, TAGS, add_description
from api.ending import Ending
from api.http.errors import MethodNotAllowed
from api.http.guards.addresses import Addresses
from api.http.guards.balance import Balance
from api.http.guards.failures import Failures
from api.http.guards.head import Head
from api.http.guards.headers import SecurityHeaders
from api.http.guards.hosts import Hosts
from api.http.guards.in_flight import InFlight
from api.http.guards.log import RequestLog
from api.http.guards.metrics import Metrics
from api.http.guards.origins import Origins
from api.http.problems import as_error, problem_response
from api.notebook.access import ShopAccess
from api.notebook.nightly import keep_copies
from api.resources import (
    backup,
    calculations,
    docs,
    doughs,
    health,
    help_pages,
    keys,
    lots,
    materials,
    metrics,
    notebook,
    page,
    problems,
    recipes,
    rules,
    stock,
    sweeps,
    uptake_tests,
    window,
)
from api.server import Server
from api.settings import Settings
from api.sweeping import Sweeping
from api.work import Work

_METHODS = ["GET", "POST", "PUT", "DELETE"]
_WALKS = (700, 10, 1_000)
_SENT = ["Content-Type", "If-Match", "If-None-Match", "Idempotency-Key", "Authorization"]
_SHOWN = ["ETag", "Location", "Retry-After", "X-Request-ID"]


def create_app(settings: Settings | None = None) -> FastAPI:
    """Return the server; rules are read here, so that a broken file stops the start.

    Parameters
    ----------
    settings : Settings, optional
        Default: what answers on this machine only, with nothing stored.

    Raises
    ------
    RulesError
        A file under rules/ does not say what it must.

    Examples
    --------
    >>> create_app().title
    'dough-advisor'
    """
    chosen = settings or Settings()
    server = _server(chosen, load_rulebook())
    app = FastAPI(
        title="dough-advisor",
        version=health.package_version(),
        description=ABOUT,
        license_info=LICENSE,
        openapi_tags=TAGS,
        servers=[{"url": "/"}],
        separate_input_output_schemas=False,
        openapi_url=None,
        docs_url=None,
        redoc_url=None,
        redirect_slashes=False,
        middleware=_guards(chosen, server.metrics),
        lifespan=_life,
        exception_handlers={HTTPException: _router_refusal, RequestValidationError: _router_refusal},
    )
    app.state.server = server
    for router in _routers(server.rulebook):
        app.router.routes.extend(router.routes)
    docs.add_docs(app)
    help_pages.add_help(app)
    page.add_page(app, server.rulebook, chosen)
    add_description(app)
    return app


def _server(settings: Settings, rulebook: Rulebook) -> Server:
    work, ending = Work(), Ending()
    return Server(
        settings=settings,
        rulebook=rulebook,
        access=ShopAccess(
            settings.notebook,
            rulebook,
            half_life_days=settings.half_life_days,
            pages_at_most=settings.notebook_pages_at_most,
            facts=settings.facts,
        ),
        work=work,
        sweeping=Sweeping(work, settings.sweep_workers or cores(), ending),
        metrics=Metrics(health.package_version(), rulebook.edition),
        ending=ending,
    )


def _routers(rulebook: Rulebook) -> list[APIRouter]:
    """Return the routes of every resource, in the order they are described."""
    return [
        calculations.router(),
        sweeps.router,
        materials.router(rulebook),
        lots.router(),
        uptake_tests.router(),
        doughs.router,
        recipes.router,
        stock.router,
        window.router(rulebook),
        notebook.router,
        backup.router,
        keys.router,
        keys.join,
        rules.router(rulebook),
        health.router(rulebook),
        problems.router(),
        metrics.router,
    ]


@asynccontextmanager
async def _life(app: FastAPI) -> AsyncIterator[None]:
    server: Server = app.state.server
    server.access.check()
    server.ending.watch()
    _settle_memory()
    nightly, settings = None, server.settings
    if settings.nightly_copies is not None:
        copies = keep_copies(server.access, settings.copies_folder, settings.nightly_copies)
        nightly = asyncio.create_task(copies)
    yield
    if nightly is not None:
        nightly.cancel()
    server.sweeping.close()
    server.work.close()
    server.access.close()


def _settle_memory() -> None:
    """Keep the collector from walking through rules and modules, which stay, and from long walks at all.

    While it walks nobody is answered. The command line lets it walk seldom, and then long; here it walks
    briefly, and through all there is as seldom as there.
    """
    gc.set_threshold(*_WALKS)
    gc.collect()
    gc.freeze()


def _guards(settings: Settings, metrics: Metrics) -> list[Middleware]:
    """Return the guards, the outermost first."""
    shared = Middleware(
        CORSMiddleware,
        allow_origins=settings.origins,
        allow_methods=_METHODS,
        allow_headers=_SENT,
        expose_headers=_SHOWN,
    )
    return [
        Middleware(RequestLog, metrics=metrics),
        Middleware(Balance),
        Middleware(SecurityHeaders, shared=bool(settings.origins)),
        *([shared] if settings.origins else []),
        Middleware(Failures),
        Middleware(Head),
        Middleware(Addresses),
        Middleware(Hosts, names=settings.hosts),
        Middleware(Origins, origins=settings.origins),
        Middleware(InFlight, at_most=settings.in_flight_at_most, per_caller=settings.per_caller_at_most),
    ]


async def _router_refusal(request: Request, exception: Exception) -> Response:
    """Answer what the router raised; Allow names the methods of every route at this address."""
    error = as_error(exception)
    if isinstance(error, MethodNotAllowed):
        error.headers["Allow"] = ", ".join(sorted(_methods(request)))
    return problem_response(error, request.state.request_id)


def _methods(request: Request) -> set[str]:
    found: set[str] = set()
    for route in request.app.router.routes:
        match, _ = route.matches(dict(request.scope))
        if match is not Match.NONE:
            found |= set(getattr(route, "methods", None) or ())
    return found | ({"HEAD"} if "GET" in found else set())
