"""The rules as they are read: feels, limits of the law, frames."""

from typing import Literal

from advisor.rulebook.bench import BenchItem, BenchTest
from advisor.rulebook.feels import Route
from advisor.rulebook.levels import Frame, Level, LevelRemark
from advisor.schema.base import Basis, Degree, Feel, Market, Shape, Sign
from advisor.schema.server import Page


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


class NoMaximumItem(Shape):
    """A material the market sets no maximum for."""

    id: str
    market: Market
    name: str
    components: tuple[str, ...]


class LimitItem(NoMaximumItem):
    """A highest percent in the finished product, summed over its components."""

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
