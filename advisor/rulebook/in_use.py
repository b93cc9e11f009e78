"""The shape of rules/in_use.toml: what a report of the finished bar moves."""

from typing import Annotated

from pydantic import Field

from advisor.rulebook.ingredient import Ingredient, folded_name, main_component
from advisor.rulebook.table import ByDegree, Ends, Id, Positive, Share, Sourced, Table
from advisor.schema.base import Degree, Feel
from advisor.schema.material import Charge, Role


class InUseMove(Sourced):
    """One move: of which materials, which way and how far [points, or a share of itself], and why.

    ``ratio`` holds the active matter of ``components`` to that ``beside`` it [-].
    """

    feel: Feel
    id: Id
    name: str = ""
    why: str = ""
    roles: tuple[Role, ...] = ()
    charges: tuple[Charge, ...] = ()
    components: tuple[str, ...] = ()
    down: ByDegree | None = None
    up: ByDegree | None = None
    share: dict[Degree, Share] | None = None
    drier: dict[Degree, Share] | None = None
    least: Annotated[float, Field(ge=0, alias="from")] = 0.0
    kept: Annotated[float, Field(ge=0)] = 0.0
    at_most: Positive = 100.0
    instead: tuple[str, ...] = ()
    beside: tuple[str, ...] = ()
    ratio: Ends | None = None

    def speaks_of(self, one: Ingredient) -> bool:
        """Tell whether a material is one of those that move."""
        if self.components:
            return is_mainly(one, self.components)
        if self.charges and one.material.charge not in self.charges:
            return False
        return not self.roles or one.main_role in self.roles


class InUseRules(Table):
    """rules/in_use.toml."""

    moves_at_most: Annotated[int, Field(ge=1)]
    instead_share: Share
    move: tuple[InUseMove, ...]


def is_mainly(one: Ingredient, components: tuple[str, ...]) -> bool:
    """Tell whether what a material holds most of, water apart, is among some components."""
    return main_component(one) in {folded_name(name) for name in components}
