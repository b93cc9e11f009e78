"""The security headers every answer carries."""

from starlette.types import ASGIApp, Message, Receive, Scope, Send

from api.http.guards.guard import Guard

DATA_POLICY = "default-src 'none'; frame-ancestors 'none'"
PAGE_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; font-src 'self'; "
    "connect-src 'self'; worker-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
_ALWAYS = (
    (b"x-content-type-options", b"nosniff"),
    (b"referrer-policy", b"no-referrer"),
    (b"x-frame-options", b"DENY"),
    (b"cross-origin-opener-policy", b"same-origin"),
    (b"cache-control", b"no-store"),
)


class SecurityHeaders(Guard):
    """Adds the headers an answer does not set itself; pages get a policy of their own."""

    def __init__(self, app: ASGIApp, *, shared: bool = False) -> None:
        super().__init__(app)
        sites = b"cross-origin" if shared else b"same-origin"
        self.always = (*_ALWAYS, (b"cross-origin-resource-policy", sites))

    async def serve(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Serve one request."""

        async def guarded(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = list(message["headers"])
                present = {name.lower(): value for name, value in headers}
                policy = (
                    PAGE_POLICY if present.get(b"content-type", b"").startswith(b"text/html") else DATA_POLICY
                )
                wanted = (*self.always, (b"content-security-policy", policy.encode()))
                message["headers"] = [*headers, *((n, v) for n, v in wanted if n not in present)]
            await send(message)

        await self.app(scope, receive, guarded)
