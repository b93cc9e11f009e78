"""The shapes that only the web has: lists, rules to read, health, problems."""

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field

from advisor.printing.weigh_sheet import Units
from advisor.rulebook.bench import BenchItem, BenchTest
from advisor.rulebook.feels import Route
from advisor.rulebook.levels import Frame, Level, LevelRemark
from advisor.schema.base import Basis, Degree, Market, Shape
from advisor.schema.findings import Check, State, TextItem
from advisor.schema.material import Role
from advisor.schema.recipe import PercentRecipe
from advisor.schema.server import Page
from advisor.schema.words import Feel, Sign
from advisor.sweeps.schema import Task

Limit = Annotated[int, Field(ge=1, le=200)]
Cursor = Annotated[str, Field(max_length=200)]


class Asking(BaseModel):
    """A query of an address; what it does not know is refused."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class SheetQuery(Asking):
    """In which units a form is printed; figures of JSON are grams."""

    units: Units = "g"


class PageQuery(Asking):
    """Which part of a list: what comes ``after`` a cursor, at most ``limit`` items."""

    after: Cursor | None = None
    limit: Limit = 50


class LongPageQuery(PageQuery):
    """Which part of a list of rules."""

    limit: Limit = 200


class MaterialsQuery(PageQuery):
    """Which materials: ``q`` is any part of the key, a name or an INCI name."""

    q: Annotated[str, Field(max_length=200)] | None = None
    role: Role | None = None
    own: Literal["true", "false"] | None = None


class SweepQuery(Asking):
    """The task of those lines of a sweep that do not name theirs; lines of JSON only."""

    task: Task | None = None


class LimitsQuery(LongPageQuery):
    """Which limits."""

    market: Market | None = None


class FeelItem(Shape):
    """A word for a dough; ``moves`` says what a correction turns on, ``order`` where it stands among them."""

    feel: Feel
    name: str
    meaning: str
    moves: str
    route: Route
    told_apart: bool
    order: int
    asks_degree: bool
    picture: str
    basis: Basis
    source: str


class DegreeItem(Shape):
    """How much of it."""

    degree: Degree
    name: str
    meaning: str


class SignItem(Shape):
    """What else was seen, and what it points to."""

    sign: Sign
    text: str
    points_to: str


class FeelsAnswer(Page):
    """What a maker may report, what is asked back, and the bench tests that tell the cases apart."""

    items: tuple[FeelItem, ...]
    degrees: tuple[DegreeItem, ...]
    signs: tuple[SignItem, ...]
    process: tuple[BenchItem, ...]
    questions: tuple[BenchItem, ...]
    tests: tuple[BenchTest, ...]


class LimitItem(Shape):
    """A highest percent in the finished product, summed over its components."""

    id: str
    market: Market
    name: str
    components: tuple[str, ...]
    max: float
    unit: Literal["%"]
    counted_as: Literal["itself", "acid"]
    forbidden_with: tuple[str, ...]
    entry: str
    note: str
    basis: str
    source: str


class MarketItem(Shape):
    """A market whose law is checked, with the date of the text."""

    market: Market
    title: str
    text_of: str
    caveat: str
    source: str


class ConditionItem(Shape):
    """What the law asks besides a percent."""

    id: str
    market: Market
    components: tuple[str, ...]
    text: str
    from_percent: float
    ph_min: float | None
    ph_max: float | None
    entry: str
    basis: str
    source: str


class NoMaximumItem(Shape):
    """A material the market sets no maximum for."""

    id: str
    market: Market
    name: str
    components: tuple[str, ...]


class LimitsAnswer(Page):
    """The limits of the law as the advisor checks them."""

    items: tuple[LimitItem, ...]
    markets: tuple[MarketItem, ...]
    conditions: tuple[ConditionItem, ...]
    no_maximum: tuple[NoMaximumItem, ...]


class FramesAnswer(Page):
    """Frame formulations, and the highest levels assessed or in use; advice, never a demand."""

    items: tuple[Frame, ...]
    basis: Basis
    source: str
    levels: tuple[Level, ...]
    remarks: tuple[LevelRemark, ...]


class ProblemPlace(Shape):
    """One place of a request and what is wrong there; ``where`` is a JSON Pointer, or ?name in the query."""

    where: str
    problem: str
    hint: str


class Problem(BaseModel):
    """What went wrong (RFC 9457)."""

    type: str
    title: str
    status: int
    detail: str
    code: str
    instance: str
    errors: tuple[ProblemPlace, ...]


class UnknownMaterialProblem(Problem):
    """No such material; these come close."""

    nearest_keys: tuple[str, ...]


class ConflictingDemand(Shape):
    """One demand of an irreducible conflict."""

    demand: str
    value: float
    unit: str
    kind: str
    where: str
    source: str


class Bend(Shape):
    """How far the nearest recipe breaks a demand."""

    demand: str
    by: float
    unit: str
    where: str


class NearestRecipe(Shape):
    """The recipe that keeps total and law and bends the rest least."""

    recipe: PercentRecipe
    bends: tuple[Bend, ...]
    after: State
    checks: tuple[Check, ...]


class NoRecipeFitsProblem(Problem):
    """No recipe meets every demand: which exclude each other, what comes nearest, what to do at the bench."""

    conflict: tuple[ConflictingDemand, ...]
    nearest: NearestRecipe | None
    advice: tuple[TextItem, ...]


class ProblemPage(Shape):
    """What a problem code means and what to do about it."""

    code: str
    title: str
    status: int
    meaning: str
    remedy: str
