"""What a maker reports of a dough, now and of earlier doughs."""

from typing import Annotated, Literal

from pydantic import Field

from advisor.schema.base import Asked, Date, Days, Degree, Degrees, Key, Minutes, PercentOrZero, Text
from advisor.schema.recipe import Recipe
from advisor.schema.words import Feel, Sign

Method = Literal["hand", "mixer", "press"]
_SIGNS_AT_MOST = 50


class Report(Asked):
    """How a dough felt, and the circumstances it was judged in."""

    feel: Feel
    degree: Degree = "clear"
    signs: Annotated[tuple[Sign, ...], Field(max_length=_SIGNS_AT_MOST)] = ()
    kneaded_minutes: Minutes | None = None
    rested_minutes: Minutes | None = None
    room_c: Degrees | None = None
    room_rh: PercentOrZero | None = None
    dough_c: Degrees | None = None
    minutes_since_melt: Minutes | None = None
    method: Method | None = None
    dried_days: Days | None = None


class PastDough(Asked):
    """An earlier dough of the same maker, with what was reported of it."""

    recipe: Recipe
    report: Report
    made_on: Date | None = None
    lots: dict[Key, Text] | None = None


History = Annotated[tuple[PastDough, ...], Field(max_length=500)]
