"""Answers HEAD as GET without the body (RFC 9110, 9.3.2)."""

from starlette.types import Message, Receive, Scope, Send

from api.http.guards.guard import Guard


class Head(Guard):
    """Serves HEAD wherever GET is served."""

    async def serve(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Serve one request."""
        if scope["method"] != "HEAD":
            await self.app(scope, receive, send)
            return

        async def bodiless(message: Message) -> None:
            if message["type"] == "http.response.body":
                message = {**message, "body": b""}
            await send(message)

        await self.app({**scope, "method": "GET"}, receive, bodiless)
