"""Counts the outcomes of a sweep, for what it says besides the answers."""

from collections.abc import Iterable
from typing import Any

from advisor.schema.findings import TextItem
from advisor.sweeps.chunk import Outcome
from advisor.writing import counted


class Tally:
    """How many were answered, and every caution that was given, each once.

    Examples
    --------
    >>> Tally.of([Outcome(True, b"{}"), Outcome(False, b"{}")]).closing("2026")["notes"][0].text
    '2 recipes: 1 answered, 1 with a problem.'
    """

    def __init__(self) -> None:
        self._counts = [0, 0]
        self._cautions: dict[str, TextItem] = {}

    @classmethod
    def of(cls, outcomes: Iterable[Outcome]) -> "Tally":
        """Return the tally of some outcomes."""
        tally = cls()
        for outcome in outcomes:
            tally.add(outcome)
        return tally

    def add(self, outcome: Outcome) -> None:
        """Count an outcome."""
        self._counts[outcome.answered] += 1
        for caution in outcome.cautions:
            self._cautions.setdefault(caution.id, caution)

    def closing(self, edition: str) -> dict[str, Any]:
        """Return what a sweep says besides its answers."""
        failed, answered = self._counts
        text = f"{counted(failed + answered, 'recipe')}: {answered} answered, {failed} with a problem."
        return {
            "cautions": tuple(self._cautions.values()),
            "notes": (TextItem(id="sweep", text=text),),
            "rules_version": edition,
        }
