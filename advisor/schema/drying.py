"""The drying call: request and answer."""

import datetime
from typing import Annotated, Literal

from pydantic import Field

from advisor.schema.base import Asked, Basis, Date, Grams, PercentOrZero, Shape
from advisor.schema.findings import Answer, Totals
from advisor.schema.material import Estimate, Materials
from advisor.schema.recipe import Recipe

Hours = Annotated[float, Field(strict=True, allow_inf_nan=False, ge=0, le=100_000)]
Millimetres = Annotated[float, Field(strict=True, allow_inf_nan=False, gt=0, le=1000)]


class BarWeighing(Asked):
    """One bar on the balance, hours after shaping."""

    hours: Hours
    grams: Grams


class BarBody(Asked):
    """The body of a bar before any weighing: ``thickness_mm`` of a slab, or the diameter of a round body."""

    shape: Literal["slab", "cylinder", "sphere"] = "slab"
    thickness_mm: Millimetres
    grams: Grams | None = None


class DryingRequest(Asked):
    """Weighings of one drying bar; or its body, for a first guess before it has been weighed.

    ``made_on`` is the day it was shaped; with it the answer carries dates.
    """

    weighings: Annotated[tuple[BarWeighing, ...], Field(max_length=500)] = ()
    body: BarBody | None = None
    final_grams: Grams | None = None
    dry_grams: Grams | None = None
    recipe: Recipe | None = None
    materials: Materials | None = None
    room_rh: PercentOrZero | None = None
    made_on: Date | None = None


class DryingParameters(Shape):
    """k in hours to the power of minus n, and n [-]."""

    k: float
    n: float


class Bounds(Shape):
    """An interval."""

    low: float
    high: float


class ParameterIntervals(Shape):
    """Where k and n lie with 80 % confidence."""

    k: Bounds
    n: Bounds


class DryingFit(Shape):
    """Root mean square error in the moisture ratio (0..1), and the share of the scatter explained."""

    rmse: float
    r2: float


class CurvePoint(Shape):
    """Weight of the bar after a time, and between which the fitted curve lies; no such band for a guess."""

    hours: float
    grams: float
    low: float | None = None
    high: float | None = None


class Dried(Shape):
    """The dried bar: weight [g], what is left of the fresh one [%], and what it consists of [% of itself]."""

    grams: float | None
    mass_left: float
    totals: Totals | None
    composition: dict[str, float] | None
    water_activity: Estimate | None


class SellDates(Shape):
    """When a bar may be weighed for sale."""

    earliest: datetime.date
    typical: datetime.date
    latest: datetime.date


class DryingDates(Shape):
    """When to look at a bar again: to weigh it next, to handle, to wrap, and to sell it."""

    weigh_next: datetime.date
    handle: datetime.date
    wrap: datetime.date
    sell: SellDates


class DryingAnswer(Answer):
    """How a bar dries; ``model`` "diffusion" is a first guess without weighings, an estimate.

    ``basis`` says what ``hours_to_dry`` rests on: "own" within what the weighings can tell, else "estimate".
    """

    model: Literal["page", "exponential", "diffusion"]
    parameters: DryingParameters
    fit: DryingFit | None
    interval80: ParameterIntervals
    hours_to_dry: Estimate
    final_grams: float | None
    curve: tuple[CurvePoint, ...]
    dried: Dried | None
    dates: DryingDates | None
    basis: Basis
