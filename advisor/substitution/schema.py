"""The substitution call: request and answer."""

from typing import Annotated, Self

from pydantic import Field, model_validator

from advisor.schema.base import GramsOrZero, Key, PercentOrZero, Shape
from advisor.schema.findings import Answer, Change, Check, Shift, State, Totals
from advisor.schema.recipe import OfRecipeAndShelf, PercentRecipe, WithBatch

Replacement = str | tuple[str, str]
OptionsAtMost = Annotated[int, Field(strict=True, ge=1, le=100)]


class SubstitutionRequest(WithBatch, OfRecipeAndShelf):
    """A recipe that lacks a material or has too little left of it, and what may stand in for it."""

    missing: Key
    replacements: Annotated[tuple[Key, ...], Field(max_length=1000)] | None = None
    options_at_most: OptionsAtMost = 5
    left_percent: PercentOrZero | None = None
    left_grams: GramsOrZero | None = None

    @model_validator(mode="after")
    def _left_once(self) -> Self:
        if self.left_percent is not None and self.left_grams is not None:
            raise ValueError("left_percent and left_grams tell the same: give one of them")
        return self


class Ranking(Shape):
    """Points against an option, and where they come from; the fewest stand first."""

    points: float
    disturbance: float
    role: float
    form: float
    charge: float
    mildness: float
    preservation: float
    caution: float
    extra_materials: float
    price: float
    text: str


class Kept(Shape):
    """The old percents with another lot of the same surfactant: what they would make."""

    recipe: PercentRecipe
    totals: Totals


class Option(Shape):
    """A recipe without the missing material; ``replacement`` is one key or two."""

    replacement: Replacement
    recipe: PercentRecipe
    changes: tuple[Change, ...]
    shifts: tuple[Shift, ...]
    before: State
    after: State
    checks: tuple[Check, ...]
    ranking: Ranking
    kept: Kept | None


class Rejected(Shape):
    """A replacement that does not fit, with the rule it breaks."""

    replacement: str
    rule: str
    reason: str


class SubstitutionAnswer(Answer):
    """The options, best first, and what was rejected with the rule each breaks."""

    options: tuple[Option, ...]
    rejected: tuple[Rejected, ...]
