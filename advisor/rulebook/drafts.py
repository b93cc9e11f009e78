"""The shape of rules/drafts.toml: how a new bar of each family is built."""

from typing import Annotated, Self

from pydantic import Field, model_validator

from advisor.rulebook.table import Ends, Id, Positive, Sentence, Share, Sourced, Table, Worded
from advisor.schema.base import PercentOrZero, UsedOn
from advisor.schema.material import Charge, Form, Role


class Part(Table):
    """What one part of a bar may be filled with, by how many materials, and its share [%].

    ``why`` says what it is in for where a maker would not think of it.
    """

    name: str
    components: tuple[str, ...] = ()
    roles: tuple[Role, ...] = ()
    prefer: tuple[str, ...] = ()
    charges: tuple[Charge, ...] = ()
    forms: tuple[Form, ...] = ()
    min: PercentOrZero
    max: PercentOrZero
    take: Annotated[int, Field(ge=1, le=4)]
    at_active: Positive | None = None
    optional: bool = False
    why: Sentence | None = None

    @model_validator(mode="after")
    def _names_something(self) -> Self:
        if not (self.components or self.roles) or self.min > self.max:
            raise ValueError("a part names components or roles, and its band is no contradiction")
        return self


class FamilyRules(Sourced):
    """How a bar of a family is built, what for, and what it is good and bad at."""

    id: Id
    name: str
    used_on: Annotated[tuple[UsedOn, ...], Field(min_length=1)]
    active: Ends
    liquid_to_powder: Ends
    good_at: Annotated[tuple[Sentence, ...], Field(min_length=1)]
    weak_at: Annotated[tuple[Sentence, ...], Field(min_length=1)]
    part: Annotated[tuple[Part, ...], Field(min_length=1)]


class AllRules(Sourced):
    """What holds in every family."""

    wetness: Ends
    oil_per_powder_at_most: Positive
    watery_share: Ends
    lines_at_most: Annotated[int, Field(ge=1)]
    trial_grams: Positive
    trial_step: Positive


class PreservedRules(Sourced):
    """Where between its lowest and highest usual level a preservative starts (0..1), and which go first."""

    share: Share
    prefer: tuple[str, ...]


class DraftRules(Worded):
    """rules/drafts.toml."""

    all: AllRules
    preserved: PreservedRules
    family: Annotated[tuple[FamilyRules, ...], Field(min_length=1)]
