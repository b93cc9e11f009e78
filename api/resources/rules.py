"""The rules as they can be read: feels, limits of the law, frames."""

from typing import Annotated, get_args

from fastapi import APIRouter, Query
from pydantic import BaseModel
from starlette.requests import Request
from starlette.responses import Response

from advisor.rulebook.load import Rulebook
from advisor.schema.base import Market
from api.dependencies import Here, admitted, routes
from api.http.answering import STILL, kept_answer, shown
from api.http.queries import LimitsQuery, LongPageQuery, page
from api.resources.rules_shapes import (
    ConditionItem,
    DegreeItem,
    FeelItem,
    FeelsAnswer,
    FramesAnswer,
    LimitItem,
    LimitsAnswer,
    MarketItem,
    NoMaximumItem,
    SignItem,
)


def router(rulebook: Rulebook) -> APIRouter:
    """Return the routes of the rules."""
    router, one = routes("Rules", admitted), LongPageQuery(limit=1)

    def example(found: BaseModel) -> dict[int | str, dict[str, object]]:
        return {200: shown(found.model_dump(mode="json")), **STILL}

    @router.get(
        "/v1/feels",
        operation_id="list_feels",
        summary="Read what may be reported",
        response_model=FeelsAnswer,
        responses=example(feels(rulebook, one)),
    )
    async def list_feels(request: Request, here: Here, query: Annotated[LongPageQuery, Query()]) -> Response:
        """Read feels, degrees and signs, with what is asked back about them and the tests at the bench."""
        return kept_answer(request, feels(here.rulebook, query), private=False)

    @router.get(
        "/v1/limits",
        operation_id="list_limits",
        summary="Read the limits of the law",
        response_model=LimitsAnswer,
        responses=example(limits(rulebook, LimitsQuery(limit=1))),
    )
    async def list_limits(request: Request, here: Here, query: Annotated[LimitsQuery, Query()]) -> Response:
        """Read maxima and conditions of one market or of all, each with its entry in the law."""
        return kept_answer(request, limits(here.rulebook, query), private=False)

    @router.get(
        "/v1/frames",
        operation_id="list_frames",
        summary="Read frame formulations",
        response_model=FramesAnswer,
        responses=example(frames(rulebook, one)),
    )
    async def list_frames(request: Request, here: Here, query: Annotated[LongPageQuery, Query()]) -> Response:
        """Read formulations to begin from, and the highest levels that were assessed or are in use."""
        return kept_answer(request, frames(here.rulebook, query), private=False)

    return router


def feels(rulebook: Rulebook, query: LongPageQuery) -> FeelsAnswer:
    """Return what a maker may report, with what is asked back and the bench tests."""
    book, bench = rulebook.feels, rulebook.bench
    every = [FeelItem(feel=feel, **entry.model_dump()) for feel, entry in sorted(book.feel.items())]
    return FeelsAnswer(
        **page(every, lambda item: item.feel, query),
        degrees=tuple(
            DegreeItem(degree=key, name=entry.name, meaning=entry.meaning)
            for key, entry in book.degree.items()
        ),
        signs=tuple(SignItem(sign=key, **entry.model_dump()) for key, entry in book.sign.items()),
        process=bench.process,
        questions=bench.question,
        tests=bench.test,
        rules_version=rulebook.edition,
    )


def limits(rulebook: Rulebook, query: LimitsQuery) -> LimitsAnswer:
    """Return the limits of one market or of all."""
    books = [
        (market, rulebook.laws[market])
        for market in get_args(Market)
        if market in rulebook.laws and query.market in (None, market)
    ]
    every = [
        LimitItem(
            id=limit.id,
            market=market,
            name=limit.name,
            components=limit.components,
            max=limit.max,
            unit="%",
            counted_as=limit.counted_as,
            forbidden_with=limit.forbidden_with,
            entry=limit.entry,
            note=limit.note,
            basis=limit.basis,
            source=limit.source,
        )
        for market, book in books
        for limit in book.limits
    ]
    every.sort(key=_place)
    return LimitsAnswer(
        **page(every, _place, query),
        markets=tuple(
            MarketItem(
                market=market,
                title=book.head.title,
                text_of=book.text_of,
                caveat=book.head.caveat,
                source=book.head.source,
            )
            for market, book in books
        ),
        conditions=tuple(
            ConditionItem(
                id=condition.id,
                market=market,
                components=condition.components,
                text=condition.text,
                from_percent=condition.from_percent,
                ph_min=condition.ph_min,
                ph_max=condition.ph_max,
                entry=condition.entry,
                basis=condition.basis,
                source=book.source_of(condition),
            )
            for market, book in books
            for condition in book.head.condition
        ),
        no_maximum=tuple(
            NoMaximumItem(id=entry.id, market=market, name=entry.name, components=entry.components)
            for market, book in books
            for entry in book.head.no_maximum
        ),
        rules_version=rulebook.edition,
    )


def _place(item: LimitItem) -> str:
    return f"{item.market}/{item.id}"


def frames(rulebook: Rulebook, query: LongPageQuery) -> FramesAnswer:
    """Return the frame formulations and the highest levels assessed or in use."""
    book = rulebook.frames
    return FramesAnswer(
        **page(sorted(book.frame, key=lambda frame: frame.id), lambda frame: frame.id, query),
        basis=book.basis,
        source=book.source,
        levels=rulebook.assessed.level,
        remarks=rulebook.assessed.remark,
        rules_version=rulebook.edition,
    )
