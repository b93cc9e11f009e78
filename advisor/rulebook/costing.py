"""The shapes of rules/costing.toml and rules/rework.toml: what of a batch is not sold."""

from advisor.rulebook.table import Positive, Sourced, Worded
from advisor.schema.base import Count, Key, Percent, PercentOrZero


class TestRules(Sourced):
    """Dough that goes into tests of the batch [g]."""

    grams: Positive


class KeptRules(Sourced):
    """Bars of a batch that are kept back as its sample."""

    bars: Count


class RejectRules(Sourced):
    """Bars that are not fit to be sold [%]."""

    percent: PercentOrZero


class CostingRules(Worded):
    """rules/costing.toml."""

    tests: TestRules
    kept: KeptRules
    rejects: RejectRules


class MostRules(Sourced):
    """The most of a rework in a batch [%]."""

    most_percent: Percent


class DriedRules(MostRules):
    """Dried rework, and the liquid by which the water it lost is returned."""

    returned_by: Key


class ReworkRules(Worded):
    """rules/rework.toml."""

    fresh: MostRules
    dried: DriedRules
    other: MostRules
