"""The one place of the shapes of the rules files: every table strict, every figure with basis and source."""

import datetime
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field

from advisor.shapes.base import Basis, Degree, Feel
from advisor.shapes.material import Charge, Form, Role
from advisor.shapes.report import Method, Sign

Number = Annotated[float, Field(strict=True, allow_inf_nan=False)]
Share = Annotated[float, Field(strict=True, ge=0, le=1)]
Positive = Annotated[float, Field(strict=True, gt=0, allow_inf_nan=False)]
Sentence = Annotated[str, Field(min_length=2, max_length=400, pattern=r"[.?]$")]
Source = Annotated[str, Field(min_length=2, max_length=250)]
Id = Annotated[str, Field(pattern=r"^[a-z0-9]+(-[a-z0-9]+)*$")]
ByDegree = dict[Degree, Positive]


class Table(BaseModel):
    """A table of a rules file."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class Sourced(Table):
    """A table of figures with what they rest on."""

    basis: Basis
    source: Source


class Edition(Table):
    """The edition of the rules."""

    edition: Annotated[str, Field(pattern=r"^\d{4}\.\d{1,2}\.\d+$")]
    dated: datetime.date


class Classes(Sourced):
    """The ordered classes of wetness and the thresholds between them on ln(index / centre)."""

    names: tuple[Literal["dry", "slightly_dry", "workable", "slightly_wet", "wet"], ...]
    thresholds: tuple[Number, ...]
    spread: Positive
    spread_lowest: Positive
    spread_highest: Positive
    word_needs_chance: Share
    own_from: Share
    outcomes: dict[Feel, dict[Degree, int]]


class PriorRules(Sourced):
    """The centre of the window and the spread of demands before any dough of the maker."""

    centre_mean: Number
    centre_sd: Positive
    demand_relative_sd: Positive


class LearningFigures(Sourced):
    """When past doughs are enough to doubt one of them; see advisor.window.LearningRules."""

    outlier_doughs: int
    outlier_chance: Share
    outlier_share: Share
    dispersion_doughs: int
    dispersion_excess: Positive
    spread_doughs: int
    spread_newest: int


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


class Steps(Sourced):
    """How far a report moves the wetting index, as a share of itself."""

    slight: Share
    clear: Share
    severe: Share
    bowl_share: Share
    band: Share
    keep_band: Share
    powder_kept_at_least: Share


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
    humectant_counts: Share
    dry_below_wetness: Positive


class CoarseRules(Sourced):
    """Powders that wet only outside."""

    share_at_most: Share


class DryingFaults(Sourced):
    """What cracks and soft bars move."""

    humectant_up: ByDegree
    humectant_up_at_most: Positive
    humectant_down: dict[Degree, Share]
    soft_step_share: Share


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
    """Temperatures [degrees Celsius] a dough is judged at, and the gap that melting fats make."""

    cool_to_c: Number
    judge_between_c: tuple[Number, Number]
    cold_state_c: Number
    fat_gap: Share


class HoldBackRules(Sourced):
    """What to keep back at the first mixing."""

    liquids: Share
    powders: Share


class DoughRules(Table):
    """rules/dough.toml."""

    classes: Classes
    prior: PriorRules
    learning: LearningFigures
    pooling: PoolingRules
    width: WidthRules
    lot: LotRules
    uptake_test: UptakeTestRules
    trial: TrialRules
    steps: Steps
    form_prior: FormPrior
    cohesion: CohesionRules
    coarse: CoarseRules
    drying_faults: DryingFaults
    water: WaterRules
    temperatures: Temperatures
    hold_back: HoldBackRules


class Prices(Sourced):
    """What a change costs."""

    reference_percent: Positive
    smallest_percent: Positive
    tie_breaker: Positive
    new_material: Positive
    mover_fee: Positive
    newcomer_fee: Positive
    target_penalty: Positive
    cost_slack: Positive


class Held(Sourced):
    """What is no lever of the dough."""

    roles: tuple[Role, ...]
    components: tuple[str, ...]
    at_least_percent: Positive


class NeverNew(Sourced):
    """What is never proposed as a new material."""

    components: tuple[str, ...]


class Bands(Sourced):
    """The default band of the active matter [points]."""

    active_below: Positive
    active_above: Positive
    one_sided_reach: Share


class BendPrices(Sourced):
    """What breaking a demand costs when the nearest recipe is sought."""

    advice: Positive
    default: Positive
    dough: Positive
    wish: Positive
    held: Positive
    scale: Positive


class RoundingRules(Sourced):
    """Steps of an answer."""

    per_percent: int
    finest_per_percent: int
    preferred_steps: tuple[Positive, ...]
    preferred_share: Share


class SensitivityRules(Sourced):
    """How many pressing bounds are explained, and by which step [points]."""

    at_most: int
    natural_step: Positive


class ProgramRules(Table):
    """rules/program.toml."""

    prices: Prices
    role_weights: dict[Role, Positive]
    held: Held
    never_new: NeverNew
    bands: Bands
    bend_prices: BendPrices
    rounding: RoundingRules
    sensitivity: SensitivityRules


class FeelRules(Sourced):
    """What one feel means."""

    name: str
    meaning: Sentence
    moves: str


class DegreeRules(Table):
    """What one degree means."""

    name: str
    meaning: Sentence


class SignRules(Table):
    """What one sign says and points to."""

    text: str
    points_to: Literal["wet", "dry", "cohesion", "coarse", "sticky", "humid"]


class FeelsFile(Table):
    """rules/feels.toml."""

    feel: dict[Feel, FeelRules]
    degree: dict[Degree, DegreeRules]
    sign: dict[Sign, SignRules]


ReportField = Literal[
    "kneaded_minutes", "rested_minutes", "room_c", "room_rh", "dough_c", "minutes_since_melt", "method"
]
Trait = Literal[
    "coarse", "melting", "fat_gap", "humectant", "hygroscopic", "clay", "starch", "oil", "fragrance"
]


class BenchItem(Sourced):
    """A process step, a question or a piece of advice, with when it applies."""

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


class BenchTest(Sourced):
    """A small test that tells the cases apart."""

    id: Id
    title: str
    text: Sentence


class Traits(Sourced):
    """Which components give a recipe a trait, and from how much on [% of the recipe]."""

    clay: tuple[str, ...]
    starch: tuple[str, ...]
    hygroscopic: tuple[str, ...]
    at_least_percent: Positive


class BenchFile(Table):
    """rules/bench.toml."""

    traits: Traits
    process: tuple[BenchItem, ...]
    question: tuple[BenchItem, ...]
    advice: tuple[BenchItem, ...]
    test: tuple[BenchTest, ...]


class CautionRules(Sourced):
    """A caution, with where the work meets it; ``unless`` names cautions that say it already."""

    id: Id
    text: Sentence
    unless: tuple[Id, ...] = ()
    always: bool = False
    forms: tuple[Form, ...] = ()
    roles: tuple[Role, ...] = ()
    charges: tuple[Charge, ...] = ()
    components: tuple[str, ...] = ()
    hazards: tuple[str, ...] = ()
    allergens: bool = False
    laws: bool = False
    no_law: bool = False
    estimates: bool = False
    advice: tuple[Id, ...] = ()


class CautionsFile(Table):
    """rules/cautions.toml."""

    caution: tuple[CautionRules, ...]


class Side(Table):
    """Which materials stand on one side of a pair: all that is named must fit.

    ``components``: together at least ``at_least_percent`` of these; ``all_components``: each of these;
    ``without``: none of these.
    """

    charges: tuple[Charge, ...] = ()
    roles: tuple[Role, ...] = ()
    forms: tuple[Form, ...] = ()
    components: tuple[str, ...] = ()
    all_components: tuple[str, ...] = ()
    without: tuple[str, ...] = ()
    at_least_percent: Positive = 0.001


class PairRules(Sourced):
    """Two materials that must not meet."""

    id: Id
    first: Side
    second: Side
    refuse: bool
    text: Sentence

    def __hash__(self) -> int:
        """Return a hash by identity: rules are loaded once and looked up often."""
        return id(self)


class PairsFile(Table):
    """rules/pairs.toml."""

    pair: tuple[PairRules, ...]


class BowlCaps(Sourced):
    """The most that is added to a dough in one go and in all [share of the dough]."""

    liquid: Share
    powder: Share
    in_all: Share


class BowlWeights(Sourced):
    """Fewest steps of a balance that count as a weight."""

    smallest_steps: Annotated[int, Field(strict=True, ge=1)]


class Levers(Sourced):
    """What may be added to a dough, and in which order of preference."""

    own_blend: Positive
    beside_blend: Positive
    member_at_least: Share
    sliver: Share
    forms: tuple[Form, ...]
    roles: dict[Role, Positive]


class BowlStages(Sourced):
    """In how many parts an addition is fed, and what is done after each [minutes]."""

    parts: Annotated[int, Field(strict=True, ge=1)]
    knead_minutes: int
    rest_minutes: int


class ReworkRules(Sourced):
    """How much of a failed dough a later batch takes [share of the batch]."""

    at_most: Share


class RecoveryRules(Sourced):
    """How far what is no lever may end from its percent [share of itself]."""

    held_within: Share


class BowlAdvice(Table):
    """Advice that is not for the dough in the bowl."""

    not_for_the_bowl: tuple[Id, ...]


class BowlRules(Table):
    """rules/bowl.toml."""

    caps: BowlCaps
    weights: BowlWeights
    levers: Levers
    stages: BowlStages
    rework: ReworkRules
    recovery: RecoveryRules
    advice: BowlAdvice
    text: dict[str, str]
