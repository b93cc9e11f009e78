"""The shape of rules/substitution.toml: groups, bounds, ranking, what is told of a swap."""

from typing import Annotated, Literal, Self, get_args

from pydantic import Field, model_validator

from advisor.rulebook.ingredient import Ingredient
from advisor.rulebook.table import Id, Positive, Sentence, Share, Sourced, Table, Worded
from advisor.schema.base import PH, WHOLE
from advisor.schema.material import Role

Measured = Literal["active", "dose", "equivalents", "dry", "amount"]
Components = Annotated[tuple[str, ...], Field(min_length=1)]


class SwapBounds(Sourced):
    """What is asked of a recipe with a replacement in it [points, shares]."""

    active_points: Positive
    function_at_least: Positive
    function_at_most: Positive
    primary_share: Share
    balance_share: Share
    replacement_price: Positive
    makes_good: tuple[Role, ...]
    purpose_from_percent: Positive


class Between(Table):
    """A pH range."""

    min: PH
    max: PH


class RankingWords(Table):
    """What each part of the points is called."""

    disturbance: str
    role: str
    form: str
    charge: str
    mildness: str
    preservation: str
    caution: str
    extra_materials: str
    price: str


class RankingRules(Sourced):
    """Points against an answer; ``special_caution`` for each word of warning that is new to users."""

    other_role: Positive
    other_form: Positive
    other_charge: Positive
    mildness_step: Positive
    extra_material: Positive
    price_percent_per_point: Positive
    narrow_ph: Positive
    special_caution: Positive
    usual_ph: Between
    pair_saves: Positive
    words: RankingWords


class TellingRules(Sourced):
    """From which change on a shift is told."""

    liquid_points: Positive
    hardness_points: Positive
    balance_share: Share
    ph_units: Positive
    ph_from_percent: Positive
    strength_points: Positive
    rank_steps: Positive
    alkaline_from: PH
    acid_to: PH
    also_fit_at_most: Annotated[int, Field(strict=True, ge=1)]


class TryingRules(Sourced):
    """How many materials are tried, and in how many programs in all."""

    materials_at_most: Annotated[int, Field(strict=True, ge=1)]
    programs_at_most: Annotated[int, Field(strict=True, ge=1)]


class TrialRules(Sourced):
    """Size of a trial dough [g]."""

    grams: Positive


class Group(Sourced):
    """What a material is for, and how its work is measured."""

    role: Role
    measured: Measured
    brings: str
    within: Share | None = None
    by_purpose: bool = False
    without: tuple[Role, ...] = ()


class Purpose(Sourced):
    """What materials are there for where their role does not tell."""

    id: Id
    does: str
    counted: Literal["held", "dose"]
    components: Components


class Never(Sourced):
    """What never stands in for a role."""

    id: Id
    role: Role
    soluble: bool
    text: Sentence


class FoamRules(Sourced):
    """Foam rank of a surfactant by component, 1 little to 5 much."""

    rank: dict[str, Positive]


class HardnessRules(Sourced):
    """What sets a bar and what keeps it soft, by component."""

    hardening: Components
    softening: Components


class SubstitutionRules(Worded):
    """rules/substitution.toml."""

    bounds: SwapBounds
    ranking: RankingRules
    telling: TellingRules
    trying: TryingRules
    trial: TrialRules
    group: Annotated[tuple[Group, ...], Field(min_length=1)]
    purpose: tuple[Purpose, ...]
    never: tuple[Never, ...]
    foam: FoamRules
    hardness: HardnessRules

    @model_validator(mode="after")
    def _every_role_once(self) -> Self:
        roles = [group.role for group in self.group]
        if sorted(roles) != sorted(get_args(Role)):
            raise ValueError("group needs every role exactly once")
        return self

    def group_of(self, role: str) -> Group:
        """Return the group of a main role."""
        return next(group for group in self.group if group.role == role)

    def purposes_of(self, one: Ingredient) -> tuple[Purpose, ...]:
        """Return what a material is there for, as far as its components tell."""
        least = self.bounds.purpose_from_percent
        return tuple(some for some in self.purpose if WHOLE * one.holds(*some.components) >= least)
