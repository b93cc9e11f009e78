"""Lets the rules be read: feels, limits of the law, frames."""

from collections.abc import Callable
from typing import Any, TypeVar, get_args

from pydantic import BaseModel
from starlette.requests import Request
from starlette.responses import Response

from advisor.errors import InvalidRequest
from advisor.rulebook.load import Rulebook
from advisor.schema.base import Market
from api.http.answering import kept_answer
from api.http.negotiation import chosen
from api.http.paging import page
from api.http.reading import read_query
from api.operation import Endpoint, Operation
from api.shapes import (
    ConditionItem,
    DegreeItem,
    FeelItem,
    FeelsAnswer,
    FramesAnswer,
    LimitItem,
    LimitsAnswer,
    LimitsQuery,
    LongPageQuery,
    MarketItem,
    NoMaximumItem,
    SignItem,
)

Query = TypeVar("Query", bound=BaseModel)


def operations(rulebook: Rulebook) -> list[Operation]:
    """Return the operations on rules."""
    return [
        _operation(
            "feels",
            FeelsAnswer,
            LongPageQuery,
            lambda query: feels(rulebook, query),
            "Read what may be reported",
        ),
        _operation(
            "limits",
            LimitsAnswer,
            LimitsQuery,
            lambda query: limits(rulebook, query),
            "Read the limits of the law",
        ),
        _operation(
            "frames",
            FramesAnswer,
            LongPageQuery,
            lambda query: frames(rulebook, query),
            "Read frame formulations",
        ),
    ]


def _operation(
    name: str, answer: type[BaseModel], shape: type[Query], read: Callable[[Query], BaseModel], summary: str
) -> Operation:
    def example() -> Any:
        return read(shape.model_validate({"limit": 1})).model_dump(mode="json")

    return Operation(
        method="GET",
        path=f"/v1/{name}",
        operation_id=f"list_{name}",
        summary=summary,
        tag="Rules",
        endpoint=_endpoint(shape, read),
        query=shape,
        parameters={"limit": 1},
        answers={200: answer, 304: None},
        errors=(InvalidRequest,),
        example=example,
    )


def _endpoint(shape: type[Query], read: Callable[[Query], BaseModel]) -> Endpoint:
    async def answer(request: Request) -> Response:
        chosen(request)
        return kept_answer(request, read(read_query(request, shape)))

    return answer


def feels(rulebook: Rulebook, query: LongPageQuery) -> FeelsAnswer:
    """Return what a maker may report, with what is asked back and the bench tests."""
    book, bench = rulebook.feels, rulebook.bench
    every = [FeelItem(feel=feel, **entry.model_dump()) for feel, entry in sorted(book.feel.items())]
    items, following = page(every, lambda item: item.feel, query.after, query.limit)
    return FeelsAnswer(
        items=items,
        next=following,
        degrees=tuple(DegreeItem(degree=key, **entry.model_dump()) for key, entry in book.degree.items()),
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
    items, following = page(every, _place, query.after, query.limit)
    return LimitsAnswer(
        items=items,
        next=following,
        markets=tuple(
            MarketItem(
                market=market, title=book.title, text_of=book.text_of, caveat=book.caveat, source=book.source
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
                source=condition.source,
            )
            for market, book in books
            for condition in book.conditions
        ),
        no_maximum=tuple(
            NoMaximumItem(id=entry.id, market=market, name=entry.name, components=entry.components)
            for market, book in books
            for entry in book.no_maximum
        ),
        rules_version=rulebook.edition,
    )


def _place(item: LimitItem) -> str:
    return f"{item.market}/{item.id}"


def frames(rulebook: Rulebook, query: LongPageQuery) -> FramesAnswer:
    """Return the frame formulations and the highest levels assessed or in use."""
    book = rulebook.frames
    items, following = page(
        sorted(book.frame, key=lambda frame: frame.id), lambda frame: frame.id, query.after, query.limit
    )
    return FramesAnswer(
        items=items,
        next=following,
        basis=book.basis,
        source=book.source,
        levels=rulebook.assessed.level,
        remarks=rulebook.assessed.remark,
        rules_version=rulebook.edition,
    )
