"""Lets no exception out: each is answered as a problem, a fault is logged as well."""

from starlette.requests import ClientDisconnect
from starlette.types import Message, Receive, Scope, Send

from api.http.errors import Internal
from api.http.guards.guard import Guard
from api.http.guards.log import write_fault
from api.http.problems import as_error, problem_response


class Failures(Guard):
    """Answers whatever was raised further in."""

    async def serve(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Serve one request."""
        started = False

        async def watched(message: Message) -> None:
            nonlocal started
            started = True
            await send(message)

        request_id = scope["state"]["request_id"]
        try:
            await self.app(scope, receive, watched)
        except ClientDisconnect:
            return
        except Exception as exception:
            error = as_error(exception)
            if isinstance(error, Internal):
                write_fault(exception, request_id)
            if started:
                raise
            _let_go(exception)
            await problem_response(error, request_id)(scope, receive, send)


def _let_go(exception: BaseException | None) -> None:
    """Let go of the frames an exception came through: they hold it and the body until garbage is sought."""
    while exception is not None:
        exception.__traceback__, exception = None, exception.__context__
