"""The shape of rules/dough.toml: classes, priors, steps, cohesion, water, temperatures, lots."""

from typing import Annotated, Literal

from pydantic import Field

from advisor.rulebook.table import ByDegree, Number, Positive, Sentence, Share, Sourced, Table
from advisor.schema.base import Degree, Feel
from advisor.schema.material import Form, Role
from advisor.schema.recipe import Method


class Classes(Sourced):
    """The ordered classes of wetness and the thresholds between them on ln(index / centre)."""

    names: tuple[Literal["dry", "slightly_dry", "workable", "slightly_wet", "wet"], ...]
    thresholds: tuple[Number, ...]
    spread: Positive
    spread_lowest: Positive
    spread_highest: Positive
    word_needs_chance: Share
    workable_from: Share
    own_from: Share
    outcomes: dict[Feel, dict[Degree, int]]


class PriorRules(Sourced):
    """The centre of the window and the spread of demands before any dough of the maker."""

    centre_mean: Number
    centre_sd: Positive
    demand_relative_sd: Positive


class LearningFigures(Sourced):
    """When past doughs are enough to doubt one of them; see advisor.learning.LearningRules."""

    outlier_doughs: int
    outlier_chance: Share
    outlier_share: Share
    dispersion_doughs: int
    dispersion_excess: Positive
    spread_doughs: int
    spread_log_sd: Positive


class HabitRules(Sourced):
    """What is believed of makers' habits; see advisor.learning.Habits.

    ``slips`` is the share of reports that are any word at all; habits are told from ``doughs`` doughs on.
    """

    doughs: int
    word_widths: tuple[Positive, ...]
    word_chances: tuple[Share, ...]
    drifts: tuple[Share, ...]
    drift_memories: tuple[Number, ...]
    drift_chances: tuple[Share, ...]
    drift_heeded: Share
    slips: Share
    newest: int
    believed_from: Share


class Among(Table):
    """A figure among shops, on ln: its mean, its spread, and how many told of it."""

    mean: Number
    sd: Positive
    shops: int


class PooledFile(Sourced):
    """What the doughs of many shops say together; see advisor.pooling."""

    rules_version: str
    among_shops: dict[str, Among]


class PoolingRules(Sourced):
    """What else shifts the window and is partly pooled: standard deviations on ln of the wetting index.

    ``usual_method`` is the one the window itself speaks of, also where no method is named.
    """

    usual_method: Method
    method_sd: Positive
    lot_sd: Positive


class LotRules(Sourced):
    """What a lot's certificate changes besides its own figure.

    ``wetting_per_point`` is the change of a liquid's wetting [g/g] for each point of active matter more.
    """

    wetting_per_point: Number
    fatty_acids: Annotated[tuple[str, ...], Field(min_length=1)]


class WidthRules(Sourced):
    """How wide the window is by what the powders are, as a factor on the usual width."""

    soluble: tuple[str, ...]
    clay_or_starch: tuple[str, ...]
    rich_share: Share
    narrow: Positive
    wide: Positive


class UptakeTestRules(Sourced):
    """The bench test of one powder: what to weigh [g], and how far a cup is from a kneaded dough [-]."""

    powder_grams: Positive
    liquid_step_grams: Positive
    repeats: int
    dough_sd: Positive
    steps: tuple[Sentence, ...]


class TrialRules(Sourced):
    """The test dough that teaches most: its mass [g], and what is tried [-]."""

    grams: Positive
    balance_step_grams: Positive
    wetness_steps: tuple[Number, ...]
    more_of_a_powder: tuple[Share, ...]
    clearly_more: Share


class Steps(Sourced):
    """How far a report moves the wetting index, as a share; after earlier doughs it is ``least`` or more."""

    slight: Share
    clear: Share
    severe: Share
    bowl_share: Share
    least: Share
    band: Share
    keep_band: Share
    powder_kept_at_least: Share


class KneadableRules(Sourced):
    """Between which wetting indices a mass is a dough at all."""

    lowest: Positive
    highest: Positive


class FormPrior(Sourced):
    """Uptake and wetting [g/g] where a material says nothing of its own."""

    uptake: dict[Form, Positive]
    wetting: dict[Form, Positive]


class CohesionRules(Sourced):
    """Crumbling that is not dryness."""

    watery_share_at_least: Share
    oil_per_powder_at_most: Share
    oil_down: dict[Degree, Share]
    watery_up: dict[Degree, Share]
    oil_per_powder_down_to: Share
    watery_share_up_to: Share
    humectant_rich: Share
    humectant_counts: Share
    dry_below_wetness: Positive


class FatKind(Table):
    """How long a kind of fat takes to set [min], and at which temperature at most [degrees Celsius]."""

    components: tuple[str, ...]
    sets_in_minutes: Positive
    most_c: Number | None = None


class FatRules(Sourced):
    """When a melted fat counts as molten and when as set [degrees Celsius, min, g, % of the recipe]."""

    molten_below_c: Positive
    set_below_c: Positive
    room_minutes: Positive
    room_minutes_big: Positive
    big_grams: Positive
    other_minutes: Positive
    stiffening: tuple[str, ...]
    stiff_from_percent: Positive
    kind: tuple[FatKind, ...]


class CoarseRules(Sourced):
    """Powders that wet only outside."""

    share_at_most: Share


class DryingFaults(Sourced):
    """What cracks and soft bars move."""

    humectant_up: ByDegree
    humectant_up_at_most: Positive
    humectant_down: dict[Degree, Share]
    soft_step_share: Share
    soft_humectant_from: Positive
    soft_humectant_kept: Positive
    hygroscopic_down: ByDegree


class Leaving(Table):
    """Share of one kind of water that leaves an air-dried bar."""

    low: Share
    typical: Share
    high: Share


class WaterRules(Sourced):
    """What becomes of each kind of water."""

    free: Leaving
    held: Leaving
    moisture: Leaving
    crystal: Leaving


class Temperatures(Sourced):
    """From which loss of wetness on cooling on a recipe is told to change as its fats set (share 0..1)."""

    fat_gap: Share


class HoldBackRules(Sourced):
    """What to keep back at the first mixing: shares, and the roles of which no liquid or only powders are."""

    liquids: Share
    powders: Share
    liquids_never: tuple[Role, ...]
    powders_of: tuple[Role, ...]


class DoughRules(Table):
    """rules/dough.toml."""

    classes: Classes
    prior: PriorRules
    learning: LearningFigures
    habits: HabitRules
    among: dict[str, Among] = Field(default_factory=dict)
    pooling: PoolingRules
    width: WidthRules
    lot: LotRules
    uptake_test: UptakeTestRules
    trial: TrialRules
    steps: Steps
    kneadable: KneadableRules
    form_prior: FormPrior
    cohesion: CohesionRules
    coarse: CoarseRules
    drying_faults: DryingFaults
    water: WaterRules
    fats: FatRules
    temperatures: Temperatures
    hold_back: HoldBackRules
