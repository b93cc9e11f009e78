"""The shapes of rules/acidity.toml and rules/preservation.toml."""

from typing import Literal

from advisor.rulebook.table import Positive, Share, Sourced, Worded
from advisor.schema.base import Percent

MoverKind = Literal["acid", "base"]


class DoseRules(Sourced):
    """Dosing of acid or alkali by two readings."""

    first_share_low: Share
    first_share_high: Share
    step_at_most: Positive
    smallest_shift: Positive
    trials_at_most: Positive


class ReadingRules(Sourced):
    """How a pH is read: percent of the dispersion [%], temperatures [degrees Celsius].

    Readings from ``comparable_from`` to ``comparable_to`` [%] are taken for one at ``percent``.
    """

    percent: Percent
    comparable_from: Percent
    comparable_to: Percent
    warm_to_c: Positive
    read_at_c: Positive


class SkinRules(Sourced):
    """pH of skin."""

    ph_min: Positive
    ph_max: Positive


class TargetRules(Sourced):
    """Which pH may be asked for, and what a soap bar is [% of the dough]."""

    lowest: Positive
    highest: Positive
    outermost_low: Positive
    outermost_high: Positive
    soap_highest: Positive
    soap_percent: Percent
    soaps: tuple[str, ...]


class Keeps(Sourced):
    """Between which pH some surfactants keep."""

    name: str
    components: tuple[str, ...]
    ph_min: Positive
    ph_max: Positive


class Mover(Sourced):
    """What moves a pH: molar mass [g/mol], equivalents near pH 5, and the most of it [% of the dough].

    ``burns``: as it is poured it burns skin and eyes, and spots in a dough.
    """

    component: str
    kind: MoverKind
    molar_mass: Positive
    equivalents: Positive
    at_most: Percent
    step_at_most: Percent | None = None
    gasses: bool = False
    burns: bool = False


class BufferingRules(Sourced):
    """Surfactants that swallow acid, from which percent on, and the most acid then [% of the dough]."""

    components: tuple[str, ...]
    percent: Percent
    acid_at_most: Percent


class DoseUnits(Sourced):
    """Grams that one unit of a dose stands for."""

    grams: Positive
    millilitres: Positive
    drops: Positive


class OverweighedRules(Sourced):
    """Between which pH a batch with too much acid or alkali is fine, and the part of the dose given first."""

    ph_min: Positive
    ph_max: Positive
    ph_max_acid_preservatives: Positive
    first_share: Share


class AcidityRules(Worded):
    """rules/acidity.toml."""

    dose: DoseRules
    target: TargetRules
    keeps: tuple[Keeps, ...]
    mover: tuple[Mover, ...]
    buffering: BufferingRules
    units: DoseUnits
    overweighed: OverweighedRules
    reading: ReadingRules
    skin: SkinRules

    def beyond(self, ph: float, highest: float) -> dict[str, str] | None:
        """Return how to tell that a pH is none of a cleansing bar, and why; None where it may be one.

        Parameters
        ----------
        ph : float
        highest : float
            The highest pH a bar of its kind may have.
        """
        low = self.target.outermost_low
        if low <= ph <= highest:
            return None
        why = self.text["why_low" if ph < low else "why_high"]
        return {"low": f"{low:g}", "high": f"{highest:g}", "why": why}


class PreservationRules(Sourced, Worded):
    """rules/preservation.toml: from which share of free acid a preservative acid is worth counting."""

    free_acid_low: Share
    wet_from_percent: Percent
