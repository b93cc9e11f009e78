"""The one place of the shapes of the rules files on the bar: drying, labels, frames, levels, pH, strength."""

import re
from functools import cached_property, lru_cache
from typing import Annotated, Literal

from pydantic import Field

from advisor.figures import Id, Positive, Sentence, Share, Sourced, Table
from advisor.shapes.base import Market, Percent
from advisor.shapes.material import Charge, Role

Names = Annotated[tuple[str, ...], Field(min_length=1)]
_IN_BRACKETS = re.compile(r"\s*\([^)]*\)")


@lru_cache(maxsize=4096)
def plain_name(name: str) -> str:
    """Return a name without case and without words in brackets.

    Examples
    --------
    >>> plain_name("Avena Sativa (Oat) Kernel Flour")
    'avena sativa kernel flour'
    """
    return " ".join(_IN_BRACKETS.sub("", name).split()).casefold() or name.casefold()


class DryRules(Sourced):
    """When a bar is called dry [% of its weight a day] and when it can be handled [days]."""

    loss_percent_per_day: Positive
    handling_days: Positive


class FitRules(Sourced):
    """How a drying curve is fitted; ``scatter`` and ``final_slack`` are shares of the water that leaves."""

    least_weighings: Annotated[int, Field(ge=3)]
    interval: Share
    scatter: Positive
    final_slack: Positive
    simpler_unless: Share
    poor_below_r2: Share
    curve_points: Annotated[int, Field(ge=2, le=200)]


class DiffusionRules(Sourced):
    """Diffusion of water in a drying bar [m2/s], and how many terms of a series are summed."""

    terms: Annotated[int, Field(ge=5, le=500)]
    low: Positive
    typical: Positive
    high: Positive


class Isotherm(Sourced):
    """Guggenheim-Anderson-de Boer isotherm: grams of water on a gram of dry solid."""

    id: Id
    components: Names
    m: Positive
    c: Positive
    k: Share


class Norrish(Sourced):
    """Water activity of a humectant solution; molar mass in g/mol."""

    component: str
    molar_mass: Positive
    k: Positive


class WaterRules(Sourced):
    """Water itself [g/mol]."""

    molar_mass: Positive


class WaterActivityRules(Sourced):
    """How far an estimated water activity is to be trusted [-]."""

    uncertainty: Share


class LowRiskRules(Sourced):
    """Water activity of low microbial risk in the dry state."""

    water_activity_at_most: Share


class LossRules(Sourced):
    """What stays on gloves and bowl [% of the batch] at one batch size [g]."""

    batch_grams: Positive
    low_percent: Percent
    high_percent: Percent


class FillRules(Sourced):
    """What is added to a bar so that none falls short [g]."""

    safety_grams_low: Positive
    safety_grams_high: Positive


class DryingRules(Table):
    """rules/drying.toml."""

    dry: DryRules
    fit: FitRules
    diffusion: DiffusionRules
    isotherm: tuple[Isotherm, ...]
    norrish: tuple[Norrish, ...]
    water: WaterRules
    water_activity: WaterActivityRules
    low_risk: LowRiskRules
    loss: Annotated[tuple[LossRules, ...], Field(min_length=1)]
    fill: FillRules
    text: dict[str, str]


class FramePart(Table):
    """One line of a frame formulation, at most ``max`` percent."""

    id: Id
    name: str
    max: Percent
    counts: Literal["active", "supplied", "components"]
    roles: tuple[Role, ...] = ()
    charges: tuple[Charge, ...] = ()
    components: tuple[str, ...] = ()


class Frame(Table):
    """A frame formulation."""

    id: str
    title: str
    about: Sentence
    part: tuple[FramePart, ...]


class FramesFile(Sourced):
    """rules/frames.toml."""

    frame: tuple[Frame, ...]


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


class FreeOrder(Sourced):
    """Below this percent ingredients may stand in any order."""

    percent: Percent


class LabelMarket(Sourced):
    """How one market writes an ingredient list."""

    title: str
    names_of: Market
    water: str
    parfum: str
    one_percent_is_free: bool


class CarrierRules(Sourced):
    """From which percent of a liquid its undeclared water counts as an ingredient."""

    water_percent: Percent


class Heeded(Table):
    """Which cautions a call carries, by their id."""

    cautions: tuple[Id, ...]


class LabelNames(Table):
    """Names that are written in one way on a label."""

    water: Names
    parfum: Names


class AllergenRules(Sourced):
    """Fragrance allergens, named above a threshold [% of the product]."""

    rinse_off_percent: Percent
    leave_on_percent: Percent
    markets: tuple[Market, ...]
    note: Sentence
    names: Names
    members: dict[str, str]


class FormaldehydeRules(Sourced):
    """When the label says that formaldehyde is released [% of the product]."""

    percent: Percent
    markets: tuple[Market, ...]


class AlsoOnLabel(Sourced):
    """What a label carries besides the ingredient list."""

    id: Id
    text: str
    markets: tuple[Market, ...]


class MakerRemark(Table):
    """What a maker should know although no law orders a warning."""

    id: Id
    words: Names
    text: str


class LabelRules(Table):
    """rules/label.toml."""

    free_order: FreeOrder
    market: dict[Market, LabelMarket]
    carrier: CarrierRules
    names: LabelNames
    heed: Heeded
    text: dict[str, str]
    allergens: AllergenRules
    formaldehyde: FormaldehydeRules
    also: tuple[AlsoOnLabel, ...]
    maker: tuple[MakerRemark, ...]

    @cached_property
    def listed(self) -> dict[str, str]:
        """The entry of the list of fragrance allergens for each name that stands for it."""
        listed = {self.key(name): name for name in self.allergens.names}
        return listed | {self.key(name): entry for name, entry in self.allergens.members.items()}

    @cached_property
    def _one_name(self) -> dict[str, str]:
        names = {plain_name(name): "aqua" for name in self.names.water}
        return names | {plain_name(name): "parfum" for name in self.names.parfum}

    def key(self, name: str) -> str:
        """Return the form of a name by which two spellings are the same ingredient.

        Case and words in brackets do not matter; all names of water are one, as are those of parfum.
        """
        plain = plain_name(name)
        return self._one_name.get(plain, plain)


class DoseRules(Sourced):
    """Dosing of acid or alkali by two readings."""

    first_share_low: Share
    first_share_high: Share
    step_at_most: Positive
    smallest_shift: Positive


class ReadingRules(Sourced):
    """How a pH is read: percent of the dispersion [%], temperatures [degrees Celsius]."""

    percent: Percent
    warm_to_c: Positive
    read_at_c: Positive


class SkinRules(Sourced):
    """pH of skin."""

    ph_min: Positive
    ph_max: Positive


class AcidityRules(Table):
    """rules/acidity.toml."""

    dose: DoseRules
    reading: ReadingRules
    skin: SkinRules
    text: dict[str, str]


class PreservationRules(Sourced):
    """rules/preservation.toml: from which share of free acid a preservative acid is worth counting."""

    free_acid_low: Share
    text: dict[str, str]


class RecordItem(Table):
    """One thing a batch record asks for, and the field of the record that answers it."""

    id: Id
    field: str
    text: str
    each: bool = False


class RecordRules(Sourced):
    """rules/record.toml: what a batch record asks for, and which deviation is remarked on [%]."""

    deviation_percent: Positive
    item: Annotated[tuple[RecordItem, ...], Field(min_length=1)]
    text: dict[str, str]


class StrengthRules(Sourced):
    """rules/strength.toml: how the strength of a batch is spread."""

    exact_pieces_at_most: Annotated[int, Field(ge=2, le=100_000)]
    draws: Annotated[int, Field(ge=1000)]
    seed: Annotated[int, Field(ge=0)]
    interval: Share
    text: dict[str, str]
