"""The shape of rules/drying.toml: fits, diffusion, isotherms, losses."""

from typing import Annotated

from pydantic import Field

from advisor.rulebook.label import Names
from advisor.rulebook.table import Id, Positive, Share, Sourced, Table, Worded
from advisor.schema.base import Percent


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
    exponents: tuple[Positive, ...]
    least_hours: Positive
    times_observed: Positive
    rise_at_most: Share
    accelerates_at_most: Positive


class DiffusionRules(Sourced):
    """Diffusion of water in a drying bar [m2/s], and how many terms of a series are summed.

    The thickness [mm] and the water that leaves [% of the fresh bar] where neither body nor recipe is told.
    """

    terms: Annotated[int, Field(ge=5, le=500)]
    thickness_mm: Positive
    leaving_low_percent: Percent
    leaving_typical_percent: Percent
    leaving_high_percent: Percent
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


class Loss(Table):
    """What stays behind: a share of the batch [%], and what gloves and bowl always keep [g]."""

    percent: Percent
    grams: Positive


class LossEnds(Sourced):
    """A loss between a low and a high one."""

    low: Loss
    typical: Loss
    high: Loss


class LossRules(Table):
    """What stays on gloves, bowl and tools, by the way of kneading."""

    hand: LossEnds
    mixer: LossEnds


class FillRules(Sourced):
    """What is added to a bar so that none falls short [g]."""

    safety_grams_low: Positive
    safety_grams_high: Positive


class RackRules(Sourced):
    """How often bars on the rack are turned, and how long an unpacked batch is taken to lie there [days]."""

    turn_days: Annotated[int, Field(ge=1)]
    days_at_most: Annotated[int, Field(ge=1)]


class DryingRules(Worded):
    """rules/drying.toml."""

    dry: DryRules
    fit: FitRules
    diffusion: DiffusionRules
    isotherm: tuple[Isotherm, ...]
    norrish: tuple[Norrish, ...]
    water: WaterRules
    water_activity: WaterActivityRules
    low_risk: LowRiskRules
    loss: LossRules
    fill: FillRules
    rack: RackRules
