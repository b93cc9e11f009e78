"""The call on a day of several batches: request and answer."""

from typing import Annotated

from pydantic import Field

from advisor.schema.base import Asked, Grams, Shape
from advisor.schema.findings import Answer
from advisor.schema.material import Materials
from advisor.schema.recipe import GramLine, Recipe

_MOST_BATCHES = 12


class PlannedBatch(Asked):
    """A recipe, the mass of its batch [g], and what the balance reads to [g]."""

    recipe: Recipe
    batch_grams: Grams
    balance_step: Grams


class DayPlanRequest(Asked):
    """The batches of a day, in any order."""

    batches: Annotated[tuple[PlannedBatch, ...], Field(min_length=1, max_length=_MOST_BATCHES)]
    materials: Materials | None = None


class Portion(Shape):
    """What goes of a material into one batch [g]; ``batch`` is its place in the request, from 0."""

    batch: int
    grams: float


class DayMaterial(Shape):
    """One material for all batches of the day [g], portion by portion in the order of the work."""

    material: str
    name: str
    grams: float
    portions: tuple[Portion, ...]


class DayStep(Shape):
    """One batch in the order of the day, what the one before leaves for it, and what to do about it."""

    batch: int
    name: str
    grams: float
    carried: tuple[str, ...]
    text: str


class DayPhase(Shape):
    """One phase of one batch: what is put together in it [g]."""

    batch: int
    phase: str
    lines: tuple[GramLine, ...]


class DayMelt(Shape):
    """Every fat that is melted that day [g]; ``together`` where one pot serves all batches."""

    temperature_c: float
    together: bool
    lines: tuple[GramLine, ...]
    portions: tuple[Portion, ...]
    text: str


class DayPlanAnswer(Answer):
    """What to weigh in all, the order that dirties least, the phases of each batch, and the one melt."""

    materials: tuple[DayMaterial, ...]
    order: tuple[DayStep, ...]
    phases: tuple[DayPhase, ...]
    melt: DayMelt | None
