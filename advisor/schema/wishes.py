"""What a maker asks of the recipe besides a dough that handles."""

from typing import Annotated, Literal

from pydantic import Field

from advisor.schema.base import Asked, Count, Key, Market, Name, PercentOrZero, UsedOn


class Band(Asked):
    """A band [%]; a missing end is open."""

    min: PercentOrZero | None = None
    max: PercentOrZero | None = None


Confidence = Annotated[float, Field(strict=True, allow_inf_nan=False, ge=0.5, le=0.99)]


Claim = Literal["sulfate_free", "palm_free", "vegan", "unscented", "not_ethoxylated"]


class Wishes(Asked):
    """Bands, held lines, market and aim of a request."""

    active: Band | None = None
    fixed: Annotated[tuple[Key, ...], Field(max_length=200)] = ()
    lines: dict[Key, Band] = Field(default_factory=dict, max_length=200)
    components: dict[Name, Band] = Field(default_factory=dict, max_length=200)
    components_dried: dict[Name, Band] = Field(default_factory=dict, max_length=200)
    market: Market = "none"
    used_on: UsedOn = "hand_and_body"
    aim: Literal["closest", "lowest_cost"] = "closest"
    new_materials_at_most: Count | None = None
    confidence: Confidence | None = None
    claims: Annotated[tuple[Claim, ...], Field(max_length=5)] = ()
