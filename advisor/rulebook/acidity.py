"""The shapes of rules/acidity.toml and rules/preservation.toml."""

from advisor.rulebook.table import Positive, Share, Sourced, Table


class DoseRules(Sourced):
    """Dosing of acid or alkali by two readings."""

    first_share_low: Share
    first_share_high: Share
    step_at_most: Positive
    smallest_shift: Positive


class ReadingRules(Sourced):
    """How a pH is read: temperatures [degrees Celsius]."""

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
