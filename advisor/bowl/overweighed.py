"""What is done where acid or alkali was over-weighed: read the pH, then take the excess up."""

from collections.abc import Iterable

from advisor.case.case import Case
from advisor.frozen import cached_property, dataclass
from advisor.law.acidity import acid_preserved
from advisor.rulebook.acidity import AcidityRules
from advisor.rulebook.ingredient import Ingredient
from advisor.schema.findings import TextItem

_OPPOSITE = {"acid": "base", "base": "acid"}
_FIGURES = 2


@dataclass(frozen=True)
class Overweighed:
    """One acid or alkali that was over-weighed in a mixed batch.

    Parameters
    ----------
    case : Case
        The recipe.
    one : Ingredient
        The acid or alkali.
    excess : float
        What is too much of it [g].
    at_hand : iterable of Ingredient
        What may be reached for.
    """

    case: Case
    one: Ingredient
    excess: float
    at_hand: tuple[Ingredient, ...]

    @property
    def _rules(self) -> AcidityRules:
        return self.case.rulebook.acidity

    @cached_property
    def window(self) -> tuple[float, float]:
        """Between which pH the batch is fine as it is."""
        limits, formula = self._rules.overweighed, self.case.formula
        used = (one.material for key, one in formula.ingredients.items() if formula.amounts[key])
        sour = acid_preserved(used, self.case.rulebook.substances)
        return limits.ph_min, limits.ph_max_acid_preservatives if sour else limits.ph_max

    @property
    def is_fine(self) -> bool:
        """Whether the pH that was read needs nothing."""
        if self.case.ph is None:
            return False
        low, high = self.window
        return self.case.ph >= low if self.one.main_role == "acid" else self.case.ph <= high

    @cached_property
    def remedy(self) -> tuple[Ingredient, float] | None:
        """What takes the excess up, and the first part of it [g]; None where nothing is needed or at hand."""
        if self.is_fine:
            return None
        equivalents = sum(
            self.excess * self.one.holds(mover.component) * mover.equivalents / mover.molar_mass
            for mover in self._rules.mover
            if mover.kind == self.one.main_role
        )
        for mover in self._rules.mover:
            if mover.kind != _OPPOSITE[self.one.main_role]:
                continue
            for other in self.at_hand:
                share = other.holds(mover.component)
                if share and other.key != self.one.key and mover.kind in other.material.roles:
                    grams = equivalents * mover.molar_mass / mover.equivalents / share
                    return other, grams * self._rules.overweighed.first_share
        return None

    def advice(self) -> Iterable[TextItem]:
        """Say what to do, in its order."""
        low, high = (f"{end:g}" for end in self.window)
        named = {
            "name": self.one.name,
            "low": low,
            "high": high,
            "percent": f"{self._rules.reading.percent:g}",
        }
        if self.is_fine:
            yield self._rules.said("fine_as_it_is", ph=f"{self.case.ph:g}", **named)
            return
        ph, reading = self.case.ph, self.case.reading
        if ph is None and reading.ph is not None:
            yield self._rules.said("not_alike", given=f"{reading.at_percent:g}", **named)
        if ph is None:
            yield self._rules.said("measure_first", **named)
        if self.remedy is None:
            needed = f"needed_{_OPPOSITE[self.one.main_role]}"
            yield self._rules.said("nothing_neutralises", needed=self._rules.text[needed])
            return
        other, grams = self.remedy
        kind = "neutralise" if ph is None else "neutralise_now"
        shown = f"{float(f'{grams:.{_FIGURES}g}'):g}"
        yield self._rules.said(kind, ph=f"{ph or 0:g}", mover=other.name, grams=shown, low=low, high=high)
        if next(mover for mover in self._rules.mover if other.holds(mover.component)).gasses:
            yield self._rules.said("gasses", mover=other.name)
