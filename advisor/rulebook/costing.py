"""The shape of rules/costing.toml: what of a batch is not sold, and the sentences of a costing."""

from advisor.rulebook.table import Positive, Sourced, Table
from advisor.schema.base import Count, PercentOrZero


class TestRules(Sourced):
    """Dough that goes into tests of the batch [g]."""

    grams: Positive


class KeptRules(Sourced):
    """Bars of a batch that are kept back as its sample."""

    bars: Count


class RejectRules(Sourced):
    """Bars that are not fit to be sold [%]."""

    percent: PercentOrZero


class CostingRules(Table):
    """rules/costing.toml."""

    tests: TestRules
    kept: KeptRules
    rejects: RejectRules
    text: dict[str, str]
