"""The shape of rules/pairs.toml: which materials must not meet."""

from advisor.rulebook.table import Id, Positive, Sentence, Sourced, Table
from advisor.schema.material import Charge, Form, Role


class Side(Table):
    """Which materials stand on one side of a pair: all that is named must fit.

    ``components``: together at least ``at_least_percent`` of these; ``all_components``: each of these;
    ``without``: none of these.
    """

    charges: tuple[Charge, ...] = ()
    roles: tuple[Role, ...] = ()
    forms: tuple[Form, ...] = ()
    components: tuple[str, ...] = ()
    all_components: tuple[str, ...] = ()
    without: tuple[str, ...] = ()
    at_least_percent: Positive = 0.001


class PairRules(Sourced):
    """Two materials that must not meet."""

    id: Id
    first: Side
    second: Side
    refuse: bool
    text: Sentence

    def __hash__(self) -> int:
        """Return a hash by identity: rules are loaded once and looked up often."""
        return id(self)


class PairsFile(Table):
    """rules/pairs.toml."""

    pair: tuple[PairRules, ...]
