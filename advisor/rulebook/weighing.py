"""The shapes of rules/weighing.toml, rules/record.toml and rules/day.toml: what is done at the balance."""

from typing import Annotated, Literal

from pydantic import Field

from advisor.rulebook.table import Id, Number, Positive, Sentence, Share, Sourced, Table, Worded
from advisor.schema.material import Form, Role
from advisor.schema.recipe import Method

Kind = Literal["liquid", "melt", "powder"]
Part = Literal[
    "always",
    "premix",
    "liquid",
    "dissolved",
    "dosed",
    "sour",
    "melt",
    "oily",
    "melt_after_liquid",
    "coarse",
    "colour",
    "powder",
    "late",
    "held_back",
    "bars",
]


class SmallestRules(Sourced):
    """How large half a step of the balance may be in a line, as a share of it (0..1), by its first role."""

    ordinary: Share
    potent: dict[Role, Share]

    def of(self, role: str) -> float:
        """Return the share for a role."""
        return next((share for one, share in self.potent.items() if one == role), self.ordinary)


class FineRules(Sourced):
    """What goes on the finer balance, and how much it carries [g]."""

    roles: tuple[Role, ...]
    limit_share: Share
    share: Share
    grams_at_most: Positive


class ToleranceRules(Sourced):
    """How far a line may be off [% of the line]."""

    ordinary_percent: Positive
    potent_percent: Positive


class WetnessKept(Sourced):
    """How far rounding may move the wetting index, as a share of itself."""

    band: Share


class MinimumWeightRules(Sourced):
    """The pharmacopoeia's minimum weight: factor times the spread over the share."""

    factor: Positive
    least_spread_steps: Share
    share: Share


class CarrierRules(Sourced):
    """In which materials of the recipe some others are usually diluted, the best first.

    A material is one of these when its main role, its form and whether water is in it fit what is named.
    """

    roles: tuple[Role, ...] = ()
    forms: tuple[Form, ...] = ()
    watery: bool | None = None
    into: Annotated[tuple[Role, ...], Field(min_length=1)]
    into_forms: Annotated[tuple[Form, ...], Field(min_length=1)]


class PremixRules(Sourced):
    """How a premix is made: so many batches' worth at a time, not too strong, at most a share of the batch.

    ``gain`` is the largest share of the error without a premix that one worth making leaves;
    ``never_roles`` are weighed as they are, however little, ``colour_roles`` never where they are too light;
    ``error`` is the share of the dose it may be off, ``error_at_most`` the share from which on it is none.
    """

    below_steps: Annotated[int, Field(ge=1)]
    colour_roles: tuple[Role, ...]
    error: Share
    parts: Annotated[tuple[Annotated[int, Field(ge=2)], ...], Field(min_length=1)]
    material_share_at_most: Share
    batch_share_at_most: Share
    gain: Share
    error_at_most: Share
    never_roles: tuple[Role, ...]
    carrier: Annotated[tuple[CarrierRules, ...], Field(min_length=1)]


class PhaseRules(Sourced):
    """Which materials make a phase of their own; temperatures in degrees Celsius."""

    watery_percent: Positive
    melt_forms: tuple[Form, ...]
    melt_roles: tuple[Role, ...]
    melts_above_c: Number
    melt_margin_c: Positive
    melt_round_c: Positive
    late_roles: tuple[Role, ...]
    late_below_c: Number
    dissolved_roles: tuple[Role, ...]
    sour_roles: tuple[Role, ...]
    oil_soluble: tuple[str, ...]


class ScaleUpRules(Sourced):
    """What changes by a method no dough was judged of yet, or in a batch of so many grams.

    ``held_back`` is how many times as much is kept back; ``methods`` what to expect of each.
    """

    batch_grams: Positive
    held_back: Positive
    large: Sentence
    methods: dict[Method, Sentence]
    side_test: Sentence


class StepRules(Sourced):
    """One step of the work, where in it, and which part of the recipe calls for it.

    ``{names}``, ``{temperature}`` and ``{grams}`` in the text are filled in.
    """

    id: Id
    when: Literal["before", "phase", "kneading", "after"]
    part: Part = "always"
    once: bool = False
    text: Sentence
    minutes: Positive | None = None


class WeighingRules(Table):
    """rules/weighing.toml."""

    smallest: SmallestRules
    fine: FineRules
    tolerance: ToleranceRules
    wetness: WetnessKept
    minimum_weight: MinimumWeightRules
    premix: PremixRules
    phases: PhaseRules
    scale_up: ScaleUpRules
    step: Annotated[tuple[StepRules, ...], Field(min_length=1)]
    text: dict[str, Sentence]


class RecordItem(Table):
    """One thing a batch record asks for, and the field of the record that answers it."""

    id: Id
    field: str
    text: str
    each: bool = False


class RecordRules(Sourced, Worded):
    """rules/record.toml: what a record asks for and does not say, which deviation is remarked on [%]."""

    deviation_percent: Positive
    not_said: tuple[Id, ...]
    item: Annotated[tuple[RecordItem, ...], Field(min_length=1)]


class CarriedRules(Sourced):
    """What a material costs that the next batch does not hold, by what it is."""

    colour: Positive
    scent: Positive
    allergen: Positive
    other: Positive


class DayRules(Worded):
    """rules/day.toml."""

    carried: CarriedRules
