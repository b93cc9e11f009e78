"""The window and trial calls: what a shop's doughs have taught, and which dough would teach most."""

from typing import Annotated

from pydantic import Field

from advisor.schema.base import Asked, Grams, Key, Shape
from advisor.schema.findings import Answer
from advisor.schema.material import Materials, TakenUp
from advisor.schema.recipe import History, Method, PercentRecipe, Recipe
from advisor.weighing.schema import WeighingAnswer

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
    learned: TakenUp
    prior: TakenUp
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


class TrialRequest(Asked):
    """The recipes that are to become surer (default: those of the notebook), and what is known besides.

    With ``powders``, which one wants to use next, the dough is the one that tells most of what they take up.
    """

    recipes: Annotated[tuple[Recipe, ...], Field(min_length=1, max_length=20)] | None = None
    powders: Annotated[tuple[Key, ...], Field(min_length=1, max_length=20)] | None = None
    history: History | None = None
    materials: Materials | None = None
    method: Method | None = None
    grams: Grams | None = None
    balance_step: Grams | None = None


class Surer(Shape):
    """How well a recipe's window is known: standard deviation of ln(wetting index) before and after."""

    name: str
    sd_before: float
    sd_after: float


class SurerPowder(Shape):
    """How well a powder's demand is known: standard deviation of ln(demand) before and after.

    ``sd_after_usual`` is what the recipes' own powders at their present centre would leave instead.
    """

    material: str
    sd_before: float
    sd_after: float
    sd_after_usual: float


class TrialAnswer(Answer):
    """The test dough, as a recipe and as a weighing, and what it is expected to teach.

    ``wetness`` is its wetting index, ``after`` the expectation over what may be felt; ``powders`` are those
    that were asked about.
    """

    recipe: PercentRecipe
    wetness: float
    text: str
    recipes: tuple[Surer, ...]
    powders: tuple[SurerPowder, ...]
    weighing: WeighingAnswer
