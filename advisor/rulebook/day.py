"""The shape of rules/day.toml: what one batch leaves behind for the next."""

from advisor.rulebook.table import Positive, Sourced, Table


class CarriedRules(Sourced):
    """What a material costs that the next batch does not hold, by what it is."""

    colour: Positive
    scent: Positive
    allergen: Positive
    other: Positive


class DayRules(Table):
    """rules/day.toml."""

    carried: CarriedRules
    text: dict[str, str]
