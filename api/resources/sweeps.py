"""Answers one task for many recipes: as one JSON body, or line by line as they come."""

import json
from collections.abc import AsyncGenerator, AsyncIterator
from contextlib import aclosing
from dataclasses import dataclass
from typing import Annotated, Any

from fastapi import Depends, Query
from starlette.requests import Request
from starlette.responses import Response, StreamingResponse

from advisor.errors import AdvisorError, Fault, InvalidRequest, NotInstalled
from advisor.recipe.notebook import Notebook
from advisor.registry import task
from advisor.sweeps.chunk import Chunk, Job, Outcome, Setting, job_of, refused
from advisor.sweeps.executor import chunks
from advisor.sweeps.schema import SweepAnswer, SweepRequest, Swept
from advisor.sweeps.tally import Tally
from advisor.sweeps.task import shared_fields, sweep_jobs
from api.dependencies import Here, Known, known_by, routes
from api.http.answering import JSON, chosen
from api.http.errors import Busy, TooLarge
from api.http.guards.metrics import Metrics
from api.http.lines import MOST_BYTES, NDJSON, Exchange, Lines
from api.http.queries import SweepQuery
from api.http.reading import parse_json
from api.http.route import Sent, raises
from api.resources.calculations import described
from api.samples import requests_of
from api.sweeping import Sweeping

_SENT = Sent(
    SweepRequest,
    requests_of(task("sweep").address),
    takes={NDJSON: "One body of a task a line, at most 64 KiB each; the field task may name the task."},
)
_FORMS = {NDJSON: "One entry of answers a line, in the order asked, sent as they are ready."}
router = routes("Calculations", known_by)


@router.post("/v1/sweeps", **described(task("sweep"), _FORMS))
@raises(NotInstalled)
async def sweep(
    request: Request,
    here: Here,
    known: Known,
    wanted: Annotated[Any, Depends(_SENT)],
    query: Annotated[SweepQuery, Query()],
) -> Response:
    """Ask one task of many recipes."""
    named = _Named(f"urn:uuid:{request.state.request_id}", request.state.counted.caller, here.metrics)
    if wanted is None:
        chosen(request, (NDJSON,))
        return _line_by_line(named, query.task, known, here.sweeping)
    chosen(request)
    if query.task is not None:
        fault = Fault("?task", "is of lines of JSON only")
        raise InvalidRequest("A parameter of the query is wrong.", [fault])
    setting, jobs = await here.work.run(lambda: _prepared(wanted.root, known), long=True, caller=named.caller)
    return StreamingResponse(_whole(named, here.sweeping, setting, jobs), media_type=JSON)


def _prepared(wanted: Any, notebook: Notebook | None) -> tuple[Setting, list[Chunk]]:
    """Return what the recipes of a JSON sweep share, and the recipes."""
    return Setting.of(shared_fields(wanted), notebook=notebook), list(chunks(sweep_jobs(wanted), wanted.task))


async def _whole(
    named: "_Named", sweeping: Sweeping, setting: Setting, cut: list[Chunk]
) -> AsyncIterator[bytes]:
    """Yield the body of a SweepAnswer piece by piece."""

    async def each() -> AsyncIterator[Chunk]:
        for chunk in cut:
            yield chunk

    tally, index, asked = Tally(), 0, sum(map(len, cut))
    yield b'{"answers":['
    async with aclosing(_until_ended(sweeping.in_order(setting, each(), named.caller))) as answered:
        async for outcomes, ended in answered:
            for outcome in outcomes * (asked - index if ended else 1):
                tally.add(outcome)
                yield (b"," if index else b"") + named.line(outcome, index)
                index += 1
    rest = SweepAnswer(answers=(), **tally.closing(setting.edition)).model_dump_json(exclude={"answers"})
    yield b"]," + rest[1:].encode()


async def _until_ended(
    answered: AsyncGenerator[list[Outcome], None],
) -> AsyncGenerator[tuple[list[Outcome], bool], None]:
    """Yield what is answered; where the server ends before, that as the last outcome, and that it is so."""
    async with aclosing(answered):
        try:
            async for outcomes in answered:
                yield outcomes, False
        except Busy as error:
            yield [refused(error)], True


def _line_by_line(
    named: "_Named", task: Swept | None, notebook: Notebook | None, sweeping: Sweeping
) -> Response:
    async def answer(lines: Lines) -> AsyncGenerator[bytes, None]:
        async def each() -> AsyncIterator[Chunk]:
            async for some in lines:
                yield [_job(line, task) for line in some]

        index = 0
        setting = Setting.of({}, notebook=notebook)
        answers = sweeping.in_order(setting, each(), named.caller)
        async with aclosing(_until_ended(answers)) as answered:
            async for outcomes, _ in answered:
                told = [named.line(one, at) for at, one in enumerate(outcomes, start=index)]
                index += len(outcomes)
                yield b"\n".join([*told, b""])

    return Exchange(answer)


def _job(line: bytes | None, task: Swept | None) -> Job | Outcome:
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
    caller: str
    metrics: Metrics

    def line(self, outcome: Outcome, index: int) -> bytes:
        """Return an outcome as one line."""
        self.metrics.recipes.labels("answered" if outcome.answered else "refused").inc()
        if outcome.answered:
            return outcome.line(index)
        problem = {**json.loads(outcome.text), "instance": self.instance}
        return outcome._replace(text=json.dumps(problem, separators=(",", ":")).encode()).line(index)
