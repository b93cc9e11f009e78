"""The rack: every batch that dries, with its dates, and what is to be done today."""

import datetime
from typing import Annotated, Literal

from advisor.schema.base import Basis, Extensible, Shape
from advisor.schema.drying import DryingDates
from advisor.schema.findings import Answer

Chore = Annotated[Literal["turn", "weigh", "sell"], Extensible()]


class RackDates(DryingDates):
    """When to look at a batch again; ``turn`` is null once it can be handled."""

    turn: datetime.date | None


class Racked(Shape):
    """A batch on the rack; ``basis`` "own" rests on its weighings, "estimate" on bars like it."""

    id: str
    name: str
    recipe_key: str | None
    version: int | None
    made_on: datetime.date
    weighings: int
    dates: RackDates
    basis: Basis


class ToDo(Shape):
    """What is to be done with a batch today."""

    id: str
    do: Chore
    text: str


class RackAnswer(Answer):
    """Every batch that dries, the oldest first, and what is to be done ``on`` this day."""

    on: datetime.date
    items: tuple[Racked, ...]
    today: tuple[ToDo, ...]
