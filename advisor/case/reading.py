"""A pH that was read, and whether it compares with the usual reading."""

from advisor.frozen import dataclass
from advisor.rulebook.acidity import ReadingRules
from advisor.schema.batch import WithPH


@dataclass(frozen=True, slots=True)
class Reading:
    """A pH with the dispersion it was read in [%]; None of the second stands for the usual one."""

    ph: float | None = None
    at_percent: float | None = None

    @classmethod
    def of(cls, request: WithPH) -> "Reading":
        """Return the reading that a request tells."""
        return cls(request.ph, request.ph_at_percent)

    def comparable(self, rules: ReadingRules) -> float | None:
        """Return the pH where its dispersion compares with the usual one, else None.

        Examples
        --------
        >>> from advisor.rulebook.load import load_rulebook
        >>> rules = load_rulebook().acidity.reading
        >>> Reading(5.5).comparable(rules), Reading(5.5, 1.0).comparable(rules)
        (5.5, None)
        """
        percent = rules.percent if self.at_percent is None else self.at_percent
        return self.ph if rules.comparable_from <= percent <= rules.comparable_to else None


NOT_READ = Reading()
