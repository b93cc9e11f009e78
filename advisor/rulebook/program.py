"""The shape of rules/program.toml: prices of moving, what is held, bands, rounding."""

from advisor.rulebook.table import Positive, Sentence, Share, Sourced, Table
from advisor.schema.material import Role


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
    """What is no lever of the dough, and how far below a limit the law may bring it [share]."""

    roles: tuple[Role, ...]
    components: tuple[str, ...]
    at_least_percent: Positive
    law_room: Share


class NeverNew(Sourced):
    """What is never proposed as a new material, and what not as a new powder."""

    components: tuple[str, ...]
    powders: tuple[str, ...]
    dry_hazards: tuple[str, ...]
    text: Sentence


class MoveRules(Sourced):
    """Moves a person would make: how many lines, and by how much at least [points, steps of the balance].

    ``text`` is said where a step is smaller because of it.
    """

    text: Sentence

    movers_at_most: int
    smallest_points: Positive
    smallest_steps: int
    small_roles: tuple[Role, ...]
    small_line: Positive
    small_share: Share
    small_points: Positive
    small_steps: int
    humectant_at_least: Share


class BeyondRange(Sourced):
    """By which share of the library's figure a usual range gives way to a report, by main role."""

    share: dict[Role, Share]


class SameBar(Sourced):
    """What the cheapest bar keeps of the bar it was [shares of the recipe's own value, points, %]."""

    primary_share: Share
    balance_share: Share
    humectant_share: Share
    structurant_share: Share
    oil_share: Share
    liquid_share: Share
    mildness_room: Share
    fillers_up: Positive
    fillers_at_most: Positive


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


class ReasonWords(Sourced):
    """What a line's one cause is called in the maker's words.

    ``cause`` is by what a demand speaks of, then its side and the way the dough is to go, the closest first.
    """

    cause: dict[str, str]
    room: str
    filled: str
    cheaper: str
    dearer: str
    whole: str


class ProgramRules(Table):
    """rules/program.toml."""

    prices: Prices
    role_weights: dict[Role, Positive]
    held: Held
    never_new: NeverNew
    moves: MoveRules
    beyond_range: BeyondRange
    same_bar: SameBar
    bands: Bands
    bend_prices: BendPrices
    rounding: RoundingRules
    sensitivity: SensitivityRules
    reasons: ReasonWords
