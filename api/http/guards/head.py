"""Answers HEAD as GET without the body (RFC 9110, 9.3.2)."""

from starlette.types import ASGIApp, Message, Receive, Scope, Send


class Head:
    """Serves HEAD wherever GET is served."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Serve one request."""
        if scope["type"] != "http" or scope["method"] != "HEAD":
            await self.app(scope, receive, send)
            return

        async def bodiless(message: Message) -> None:
            if message["type"] == "http.response.body":
                message = {**message, "body": b""}
            await send(message)

        await self.app({**scope, "method": "GET"}, receive, bodiless)
