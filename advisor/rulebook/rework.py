"""The shape of rules/rework.toml: how much rework a batch bears, and what is said of it."""

from advisor.rulebook.table import Sourced, Table
from advisor.schema.base import Key, Percent


class MostRules(Sourced):
    """The most of a rework in a batch [%]."""

    most_percent: Percent


class DriedRules(MostRules):
    """Dried rework, and the liquid by which the water it lost is returned."""

    returned_by: Key


class ReworkRules(Table):
    """rules/rework.toml."""

    fresh: MostRules
    dried: DriedRules
    other: MostRules
    text: dict[str, str]
