"""The shape of rules/program.toml: prices of moving, what is held, bands, rounding."""

from advisor.rulebook.table import Positive, Share, Sourced, Table
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
