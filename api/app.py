"""Where the server is put together."""

import asyncio
import gc
from collections.abc import AsyncIterator, Callable, Sequence
from contextlib import AbstractAsyncContextManager, asynccontextmanager
from functools import lru_cache
from typing import Any

from fastapi import Depends, FastAPI
from fastapi.exceptions import RequestValidationError
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.middleware.cors import CORSMiddleware
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Match

from advisor.rulebook.load import load_rulebook
from advisor.sweeps.executor import cores
from api.description import describe
from api.http.errors import MethodNotAllowed
from api.http.guards.addresses import Addresses
from api.http.guards.balance import Balance
from api.http.guards.failures import Failures
from api.http.guards.head import Head
from api.http.guards.headers import SecurityHeaders
from api.http.guards.hosts import Hosts
from api.http.guards.in_flight import InFlight
from api.http.guards.log import RequestLog
from api.http.guards.metrics import Measured, Metrics
from api.http.guards.origins import Origins
from api.http.guards.per_caller import PerCaller
from api.http.problems import as_error, problem_response
from api.notebook.access import ShopAccess
from api.notebook.nightly import keep_copies
from api.operation import Operation
from api.resources import (
    backup,
    calculations,
    doughs,
    health,
    keys,
    lots,
    materials,
    notebook,
    problems,
    rules,
    stored_materials,
    sweeps,
    uptake_tests,
    window,
)
from api.resources.docs import add_docs
from api.resources.metrics import add_metrics
from api.resources.page import add_page
from api.settings import Settings
from api.sweeping import Sweeping
from api.work import Work

_METHODS = ["GET", "POST", "PUT", "DELETE"]
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
    rulebook = load_rulebook()
    work = Work()
    sweeping = Sweeping(work, chosen.sweep_workers or cores())
    metrics = Metrics(health.package_version(), rulebook.edition)
    access = ShopAccess(
        chosen.notebook,
        rulebook,
        half_life_days=chosen.half_life_days,
        pages_at_most=chosen.notebook_pages_at_most,
    )
    app = FastAPI(
        title="dough-advisor",
        version=health.package_version(),
        openapi_url=None,
        docs_url=None,
        redoc_url=None,
        redirect_slashes=False,
        middleware=_guards(chosen, metrics),
        lifespan=_life(chosen, work, sweeping, access),
        exception_handlers={HTTPException: _router_refusal, RequestValidationError: _router_refusal},
    )
    operations = [
        *calculations.operations(chosen, work, access),
        *sweeps.operations(chosen, work, access, sweeping, metrics),
        *materials.operations(access),
        *stored_materials.operations(chosen, access),
        *lots.operations(chosen, access),
        *uptake_tests.operations(chosen, access),
        *doughs.operations(chosen, access),
        *window.operations(access),
        *notebook.operations(chosen, access),
        *backup.operations(access),
        *keys.operations(chosen, access),
        *rules.operations(rulebook),
        *health.operations(rulebook),
        *problems.operations(),
    ]
    for operation in operations:
        app.add_api_route(
            operation.path,
            operation.endpoint,
            methods=[operation.method],
            name=operation.operation_id,
            operation_id=operation.operation_id,
            response_model=None,
            dependencies=[Depends(access.admit)] if operation.path.startswith("/v1/") else [],
        )
    _add_description(app, operations, access)
    add_docs(app, access)
    add_metrics(app, metrics, access)
    add_page(app)
    keys.add_join(app, access)
    return app


def _life(
    settings: Settings, work: Work, sweeping: Sweeping, access: ShopAccess
) -> Callable[[FastAPI], AbstractAsyncContextManager[None]]:
    @asynccontextmanager
    async def life(_: FastAPI) -> AsyncIterator[None]:
        access.check()
        _settle_memory()
        nightly = None
        if settings.nightly_copies is not None:
            copies = keep_copies(access, settings.copies_folder, settings.nightly_copies)
            nightly = asyncio.create_task(copies)
        yield
        if nightly is not None:
            nightly.cancel()
        sweeping.close()
        work.close()
        access.close()

    return life


def _settle_memory() -> None:
    """Keep the collector from walking through rules and modules again and again: they stay."""
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
        Middleware(RequestLog),
        Middleware(Measured, metrics=metrics),
        Middleware(Balance),
        Middleware(SecurityHeaders, shared=bool(settings.origins)),
        *([shared] if settings.origins else []),
        Middleware(Failures),
        Middleware(Head),
        Middleware(Addresses),
        Middleware(Hosts, names=settings.hosts),
        Middleware(Origins, origins=settings.origins),
        Middleware(InFlight, at_most=settings.in_flight_at_most),
        Middleware(PerCaller, at_most=settings.per_caller_at_most),
    ]


def _add_description(app: FastAPI, operations: Sequence[Operation], access: ShopAccess) -> None:
    @lru_cache(maxsize=1)
    def openapi() -> dict[str, Any]:
        return describe(operations, app.version)

    async def description(request: Request) -> Response:
        await access.of(request)
        return JSONResponse(openapi())

    app.openapi = openapi  # type: ignore[method-assign]
    app.add_route("/openapi.json", description, ["GET"], include_in_schema=False)


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
