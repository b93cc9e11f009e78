"""What every guard is: an ASGI middleware that looks at requests alone."""

from starlette.types import ASGIApp, Receive, Scope, Send


class Guard:
    """Stands before an application; whatever is no request goes by."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Serve one request, or let something else by."""
        serve = self.serve if scope["type"] == "http" else self.app
        await serve(scope, receive, send)

    async def serve(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Serve one request."""
        raise NotImplementedError
