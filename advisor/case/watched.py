"""One thing that is said of a recipe, and how bad it is."""

from collections.abc import Iterable

from advisor.frozen import dataclass
from advisor.rulebook.pairs import Severity

_WORST_FIRST: tuple[Severity, ...] = ("danger", "law", "dough", "advice")


@dataclass(frozen=True, slots=True)
class Watched:
    """Something that is said of a recipe, how bad it is, and the materials it is about."""

    id: str
    severity: Severity
    text: str
    about: tuple[str, ...]


def worst_first(some: Iterable[Watched]) -> list[Watched]:
    """Return what is watched once each, danger before law before dough before advice."""
    return sorted(dict.fromkeys(some), key=lambda one: _WORST_FIRST.index(one.severity))
