"""Answers one task for many recipes: as one JSON body, or line by line as they come."""

import json
from collections.abc import AsyncGenerator, AsyncIterator
from contextlib import aclosing
from dataclasses import dataclass

from starlette.requests import Request
from starlette.responses import Response, StreamingResponse

from advisor.errors import AdvisorError, Fault, NotInstalled
from advisor.recipe.notebook import Notebook
from advisor.recipe.request import read_request
from advisor.sweeps.chunk import Chunk, Job, Outcome, Setting, refused
from advisor.sweeps.line import job_of
from advisor.sweeps.order import chunks
from advisor.sweeps.schema import SweepAnswer, SweepRequest, Task
from advisor.sweeps.tally import Tally
from advisor.sweeps.task import shared_fields, sweep_jobs
from api.http.errors import TooLarge
from api.http.guards.metrics import Metrics
from api.http.lines import MOST_BYTES, NDJSON, Exchange, Lines
from api.http.negotiation import JSON, chosen
from api.http.reading import declared, parse_json, read_body, read_query
from api.notebook.access import ShopAccess
from api.notebook.errors import KeyNeeded, Storage
from api.operation import Operation
from api.settings import Settings
from api.shapes import Asking, SweepQuery
from api.sweeping import Sweeping
from api.work import Work


def operations(
    settings: Settings, work: Work, access: ShopAccess, sweeping: Sweeping, metrics: Metrics
) -> list[Operation]:
    """Return the operation on sweeps."""

    async def sweep(request: Request) -> Response:
        if declared(request, (JSON, NDJSON)) == NDJSON:
            chosen(request, (NDJSON,))
            query = read_query(request, SweepQuery)
            named = _Named(f"urn:uuid:{request.state.request_id}", metrics)
            return _line_by_line(named, query.task, await access.of(request), sweeping)
        chosen(request)
        read_query(request, Asking)
        body = await read_body(request, settings.body_bytes_at_most)
        notebook = await access.of(request)
        setting, jobs = await work.run(lambda: _prepared(body, notebook), long=True)
        named = _Named(f"urn:uuid:{request.state.request_id}", metrics)
        return StreamingResponse(_whole(named, sweeping, setting, jobs), media_type=JSON)

    return [
        Operation(
            method="POST",
            path="/v1/sweeps",
            operation_id="sweep",
            summary="Ask one task of many recipes",
            tag="Calculations",
            endpoint=sweep,
            request=SweepRequest,
            takes={
                NDJSON: "One body of a task a line, at most 64 KiB each; the field task may name the task."
            },
            query=SweepQuery,
            answers={200: SweepAnswer},
            forms={NDJSON: "One entry of answers a line, in the order asked, sent as they are ready."},
            errors=(NotInstalled, KeyNeeded, Storage),
        )
    ]


def _prepared(body: bytes, notebook: Notebook | None) -> tuple[Setting, list[Chunk]]:
    """Return what the recipes of a JSON sweep share, and the recipes.

    Raises
    ------
    InvalidJSON, InvalidRequest
    """
    wanted = read_request(SweepRequest, parse_json(body)).root
    return Setting.of(shared_fields(wanted), notebook=notebook), list(chunks(sweep_jobs(wanted), wanted.task))


async def _whole(
    named: "_Named", sweeping: Sweeping, setting: Setting, cut: list[Chunk]
) -> AsyncIterator[bytes]:
    """Yield the body of a SweepAnswer piece by piece."""

    async def each() -> AsyncIterator[Chunk]:
        for chunk in cut:
            yield chunk

    tally, index = Tally(), 0
    yield b'{"answers":['
    async with aclosing(sweeping.in_order(setting, each())) as answered:
        async for outcomes in answered:
            for outcome in outcomes:
                tally.add(outcome)
                yield (b"," if index else b"") + named.line(outcome, index)
                index += 1
    rest = SweepAnswer(answers=(), **tally.closing(setting.edition)).model_dump_json(exclude={"answers"})
    yield b"]," + rest[1:].encode()


def _line_by_line(
    named: "_Named", task: Task | None, notebook: Notebook | None, sweeping: Sweeping
) -> Response:
    async def answer(lines: Lines) -> AsyncGenerator[bytes, None]:
        async def each() -> AsyncIterator[Chunk]:
            async for some in lines:
                yield [_job(line, task) for line in some]

        index = 0
        setting = Setting.of({}, notebook=notebook)
        async with aclosing(sweeping.in_order(setting, each())) as answered:
            async for outcomes in answered:
                told = [named.line(one, at) for at, one in enumerate(outcomes, start=index)]
                index += len(outcomes)
                yield b"\n".join([*told, b""])

    return Exchange(answer)


def _job(line: bytes | None, task: Task | None) -> Job | Outcome:
    """Return what a line asks, or the problem it has."""
    try:
        if line is None:
            raise TooLarge(
                f"A line may have {MOST_BYTES} bytes.",
                [Fault("", "has too many bytes", f"at most {MOST_BYTES}")],
            )
        return job_of(parse_json(line), task)
    except AdvisorError as error:
        return refused(error)


@dataclass(frozen=True)
class _Named:
    """Writes the lines of one request: problems go by its id, and every outcome is counted."""

    instance: str
    metrics: Metrics

    def line(self, outcome: Outcome, index: int) -> bytes:
        """Return an outcome as one line."""
        self.metrics.recipes["answered" if outcome.answered else "refused"] += 1
        if outcome.answered:
            return outcome.line(index)
        problem = {**json.loads(outcome.text), "instance": self.instance}
        return outcome._replace(text=json.dumps(problem, separators=(",", ":")).encode()).line(index)
