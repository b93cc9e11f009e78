"""The shapes of rules/frames.toml, assessed, findings and strength.toml: what a recipe is held beside."""

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from advisor.rulebook.label import Names
from advisor.rulebook.table import Id, Positive, Sentence, Share, Sourced, Table, Worded
from advisor.schema.base import Percent, UsedOn
from advisor.schema.material import Charge, Role


class FramePart(Table):
    """One line of a frame formulation, at most ``max`` percent."""

    id: Id
    name: str
    max: Percent
    counts: Literal["active", "supplied", "components", "flagged"]
    roles: tuple[Role, ...] = ()
    charges: tuple[Charge, ...] = ()
    components: tuple[str, ...] = ()
    flag: Literal["sulfate_free", "ethoxylated", "palm", "vegan"] | None = None

    @model_validator(mode="after")
    def _flag_named(self) -> Self:
        if (self.counts == "flagged") is not (self.flag is not None):
            raise ValueError("a part that counts what is flagged names its flag, and no other part does")
        return self


class Frame(Table):
    """A frame formulation."""

    id: str
    title: str
    about: Sentence
    part: tuple[FramePart, ...]


class OwnPart(FramePart, Sourced):
    """What a house wants at most besides the frames."""


class FramesFile(Sourced):
    """rules/frames.toml."""

    frame: tuple[Frame, ...]
    own: tuple[OwnPart, ...] = ()


class Level(Sourced):
    """The highest level a safety assessment covered or an inventory recorded [% of the product]."""

    id: Id
    name: str
    components: Names
    max: Percent
    kind: Literal["assessed", "use"]
    text: Sentence


class LevelRemark(Sourced):
    """What an assessment asks without a figure."""

    id: Id
    components: Names
    text: Sentence


class AssessedFile(Table):
    """rules/assessed.toml."""

    level: tuple[Level, ...]
    remark: tuple[LevelRemark, ...]


class DoughFinding(Sourced):
    """A measure of a recipe and the bound beyond which it stands out, for these places if any are named."""

    id: Id
    measure: Literal[
        "oil_per_powder",
        "watery_share",
        "coarse_share",
        "humectants",
        "humectants_of_liquids",
        "components",
        "first_guess_wetness",
    ]
    components: tuple[str, ...] = ()
    over: Positive | None = None
    under: Positive | None = None
    used_on: tuple[UsedOn, ...] = ()
    text: Sentence


class FindingsFile(Table):
    """rules/findings.toml."""

    at_most_in_text: Annotated[int, Field(ge=1)]
    dough: tuple[DoughFinding, ...]
    text: dict[str, Sentence]


class StrengthRules(Sourced, Worded):
    """rules/strength.toml: how the strength of a batch is spread."""

    exact_pieces_at_most: Annotated[int, Field(ge=2, le=100_000)]
    draws: Annotated[int, Field(ge=1000)]
    seed: Annotated[int, Field(ge=0)]
    interval: Share
