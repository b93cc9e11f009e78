"""The shapes of rules/bench.toml and rules/cautions.toml: what is told when."""

from typing import Annotated, Literal

from pydantic import Field

from advisor.rulebook.pairs import Severity
from advisor.rulebook.table import Id, Number, Positive, Sentence, Source, Sourced, Table
from advisor.schema.base import Degree, Feel, Sign
from advisor.schema.material import Charge, Form, Role
from advisor.schema.recipe import Method

ReportField = Literal[
    "kneaded_minutes",
    "rested_minutes",
    "room_c",
    "room_rh",
    "dough_c",
    "minutes_since_melt",
    "method",
    "dried_days",
]
Trait = Literal[
    "coarse",
    "melting",
    "soft_fat",
    "fat_gap",
    "humectant",
    "hygroscopic",
    "clay",
    "starch",
    "oil",
    "fragrance",
    "stiffened",
]


class BenchItem(Sourced):
    """A process step, a question or a piece of advice, with when it applies.

    A ``warning`` stands among the process steps, and no change of a recipe waits for it.
    """

    id: Id
    text: Sentence
    feels: tuple[Feel, ...] = ()
    degrees: tuple[Degree, ...] = ()
    signs: tuple[Sign, ...] = ()
    also_signs: tuple[Sign, ...] = ()
    methods: tuple[Method, ...] = ()
    field: ReportField | None = None
    above: Number | None = None
    below: Number | None = None
    unless: tuple[ReportField, ...] = ()
    recipe: tuple[Trait, ...] = ()
    lacks: tuple[Trait, ...] = ()
    warning: bool = False

    @property
    def told(self) -> bool:
        """Whether it rests on a fact of the report, not only on the recipe."""
        return self.field is not None or "stiffened" in self.recipe


class BenchQuestion(BenchItem):
    """A question, in a few words too."""

    short: Source


class Then(Sourced):
    """What the change of a recipe waits for."""

    report_again: Sentence
    after_process: Sentence
    after_answers: Sentence


class BenchTest(Sourced):
    """A small test that tells the cases apart."""

    id: Id
    title: str
    text: Sentence


class Traits(Sourced):
    """Which components give a recipe a trait, and from how much on [% of the recipe].

    Soft fats are told by where they melt [degrees Celsius].
    """

    clay: tuple[str, ...]
    starch: tuple[str, ...]
    hygroscopic: tuple[str, ...]
    softening: tuple[str, ...]
    at_least_percent: Positive
    soft_fat_below_c: Positive


class BenchFile(Table):
    """rules/bench.toml."""

    traits: Traits
    then: Then
    process: tuple[BenchItem, ...]
    question: tuple[BenchQuestion, ...]
    advice: tuple[BenchItem, ...]
    test: tuple[BenchTest, ...]


class CautionRules(Sourced):
    """A caution, with where the work meets it; ``unless`` names cautions that say it already.

    A ``standing`` one holds of the work in general, the others of this recipe; ``when_handled`` makes a
    standing one special where its material is weighed or poured next. ``over_use`` asks for more than the
    usual range, ``from_percent`` for so much of the recipe. ``severity`` makes it a finding too.
    """

    id: Id
    text: Sentence
    unless: tuple[Id, ...] = ()
    standing: bool = True
    when_handled: bool = False
    severity: Severity | None = None
    words: tuple[str, ...] = ()
    from_percent: Positive | None = None
    over_use: bool = False
    always: bool = False
    forms: tuple[Form, ...] = ()
    roles: tuple[Role, ...] = ()
    charges: tuple[Charge, ...] = ()
    components: tuple[str, ...] = ()
    hazards: tuple[str, ...] = ()
    allergens: bool = False
    laws: bool = False
    law_months: Annotated[int, Field(strict=True, ge=1)] | None = None
    review_passed: bool = False
    no_law: bool = False
    estimates: bool = False
    advice: tuple[Id, ...] = ()


class CautionsFile(Table):
    """rules/cautions.toml."""

    caution: tuple[CautionRules, ...]
