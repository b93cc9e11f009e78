"""The window call: what a shop's doughs have taught so far."""

from typing import Annotated

from pydantic import Field

from advisor.schema.base import Asked, Shape
from advisor.schema.findings import Answer
from advisor.schema.material import Materials
from advisor.schema.report import History, Method
from advisor.schema.uptake_test import Demand

HalfLife = Annotated[float, Field(strict=True, allow_inf_nan=False, gt=0, le=100_000)]


class WindowRequest(Asked):
    """Doughs besides those of the notebook; with ``half_life_days`` they fade by age."""

    history: History | None = None
    materials: Materials | None = None
    half_life_days: HalfLife | None = None


class MethodWindow(Shape):
    """Where doughs of one method are workable: wetting index, with its interval of the chance ``level``.

    ``doughs`` counts those of this method.
    """

    method: Method
    centre: float
    low: float
    high: float
    level: float
    doughs: int


class LearnedDemand(Shape):
    """What a powder takes up [g/g] by the doughs, and by the library before them (80 % intervals).

    ``relative_sd`` is the standard deviation of ln(demand) left; ``use`` its mean share in the demand of the
    doughs.
    """

    material: str
    learned: Demand
    prior: Demand
    relative_sd: float
    use: float
    doughs: int


class LearnedLot(Shape):
    """How much more (above 1) or less a lot takes up than its powder does, with the 80 % interval."""

    material: str
    lot: str
    factor: float
    low: float
    high: float
    doughs: int


class Outlier(Shape):
    """A dough that fits ill to the others."""

    dough: str
    text: str


class MeasureNext(Shape):
    """The powder whose bench test would tell most."""

    material: str
    text: str


class WindowAnswer(Answer):
    """The workable window as this shop's doughs have taught it."""

    doughs: int
    level: float
    by_method: tuple[MethodWindow, ...]
    spread: float
    spread_basis: str
    dispersion: float
    widened: bool
    powders: tuple[LearnedDemand, ...]
    lots: tuple[LearnedLot, ...]
    measure_next: MeasureNext | None
    outliers: tuple[Outlier, ...]
    outliers_set_aside: bool
    unread: tuple[str, ...]
