"""The endpoints of the tasks, POST /v1/corrections and the others: one for each entry of the registry."""

from collections.abc import Mapping
from inspect import signature
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Query
from pydantic import BaseModel
from starlette.requests import Request
from starlette.responses import Response

from advisor.printing.forms import CSV, FORMS, printed
from advisor.printing.local import written
from advisor.printing.page import STYLESHEET
from advisor.printing.told import Told
from advisor.registry import TASKS, Task
from advisor.writing import Writing
from api.dependencies import Form, Here, Known, known_by, routes
from api.http.answering import AS_CSV, JSON, VARY, in_forms, json_answer
from api.http.queries import SheetQuery
from api.http.route import Sent, raises
from api.samples import answers_of, requests_of

_PAGE_POLICY = "default-src 'none'; style-src 'self'; base-uri 'none'; frame-ancestors 'none'"
_ELSEWHERE = ("sweep",)
_SOON_LEARNED = 500  # as many doughs of a shop as a request may bring: learning from more takes long
_PRINTED = dict.fromkeys(FORMS.values(), "The same as a form to print.") | AS_CSV


def router() -> APIRouter:
    """Return a route for each task that is asked by one body and answered by one."""
    router = routes("Calculations", known_by)
    for task in TASKS:
        if task.method == "POST" and task.name not in _ELSEWHERE:
            _add(router, task)
    return router


def described(task: Task, forms: Mapping[str, str]) -> dict[str, Any]:
    """Return how the route of a task is described, besides its body."""
    answers = answers_of(task.address)
    if forms:
        answers.setdefault(200, {}).setdefault("content", {JSON: {}}).update(in_forms(forms))
    return {
        "operation_id": task.name,
        "summary": task.summary,
        "description": task.request.__doc__,
        "response_model": task.answer,
        "responses": answers,
    }


def _add(router: APIRouter, task: Task) -> None:
    forms = _PRINTED if task.form else AS_CSV
    printed_as = _units if task.form and "units" in signature(task.lay_out).parameters else _as_it_is

    @raises(*task.errors)
    async def calculate(
        request: Request,
        here: Here,
        form: Form,
        known: Known,
        body: Annotated[Any, Depends(Sent(task.request, requests_of(task.address), read=_by_the_task))],
        options: Annotated[dict[str, Any], Depends(printed_as)],
    ) -> Response:
        shop = {"notebook": known} if task.knows_shop else {}
        told = {} if task.form else {"told": Told(body, here.rulebook, known)}
        return await here.work.run(
            lambda: _answered(task, task.function(body, **shop), form, options | told, here.settings.writing),
            long=task.long or request.state.large or len(known.doughs if known else ()) > _SOON_LEARNED,
            caller=request.state.counted.caller,
        )

    router.post(f"/v1/{task.address}", **described(task, forms))(calculate)


def _by_the_task(value: Any) -> Any:
    """Return a value as it was sent: the task reads it, for it is read the same wherever it is asked."""
    return value


async def _units(query: Annotated[SheetQuery, Query()]) -> dict[str, Any]:
    return query.model_dump()


async def _as_it_is() -> dict[str, Any]:
    return {}


def _answered(
    task: Task, answer: BaseModel, form: str, options: Mapping[str, Any], writing: Writing
) -> Response:
    if form == JSON:
        return json_answer(answer, vary=True)
    headers = VARY | ({"Content-Security-Policy": _PAGE_POLICY} if form == "text/html" else {})
    document = task.lay_out(answer, **options)
    shown = document if form == CSV else written(document, writing)
    return Response(printed(shown, form, STYLESHEET), media_type=form, headers=headers)
