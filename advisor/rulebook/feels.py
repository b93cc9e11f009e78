"""The shapes of rules/feels.toml and rules/in_use.toml: what is reported, and what a finished bar asks."""

from typing import Annotated, Literal

from pydantic import Field

from advisor.rulebook.ingredient import Ingredient, folded_name, main_component
from advisor.rulebook.table import ByDegree, Ends, Id, Positive, Sentence, Share, Sourced, Table
from advisor.schema.base import Degree, Feel, Sign
from advisor.schema.material import Charge, Role

Route = Literal["wetter", "drier", "cohesion", "coarse", "cracks", "soft", "sticky", "in_use", "keep"]


class FeelRules(Sourced):
    """What one feel means, and which way a recipe goes from it.

    ``told_apart``: its signs and the recipe may point another way than its ``route``. ``order`` is its place
    among the feels, ``picture`` the drawing on its button; ``asks_degree`` says whether there is more or less
    of it.
    """

    name: str
    meaning: Sentence
    moves: str
    route: Route
    told_apart: bool = False
    order: int
    asks_degree: bool = True
    picture: str


class DegreeRules(Table):
    """What one degree means; ``also`` is what else it may be called."""

    name: str
    also: tuple[str, ...] = ()
    meaning: Sentence


class SignRules(Table):
    """What one sign says and points to."""

    text: str
    points_to: Literal["wet", "dry", "cohesion", "coarse", "sticky", "humid"]


class FeelsFile(Table):
    """rules/feels.toml."""

    feel: dict[Feel, FeelRules]
    degree: dict[Degree, DegreeRules]
    sign: dict[Sign, SignRules]

    def word(self, told: str) -> str:
        """Return the word of a feel or a degree by what a maker calls it; what is none of them stays.

        Examples
        --------
        >>> from advisor.rulebook.load import load_rulebook
        >>> feels = load_rulebook().feels
        >>> feels.word("Too wet"), feels.word("slightly"), feels.word("badly"), feels.word("soggy")
        ('too_wet', 'slight', 'severe', 'soggy')
        """
        called = {one.name.casefold(): word for word, one in self.feel.items()}
        for word, one in self.degree.items():
            called |= dict.fromkeys((one.name, *one.also), word)
        return called.get(" ".join(told.casefold().replace("_", " ").split()), told)


class InUseMove(Sourced):
    """One move: of which materials, which way and how far [points, or a share of itself], and why.

    ``ratio`` holds the active matter of ``components`` to that ``beside`` it [-]; ``share`` is then how much
    of the way there is gone. Without any step it only says what must not go up or, ``never_less``, not down.
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
    never_less: bool = False

    def speaks_of(self, one: Ingredient) -> bool:
        """Tell whether a material is one of those that move."""
        if self.components:
            return is_mainly(one, self.components)
        if self.charges and one.material.charge not in self.charges:
            return False
        return not self.roles or one.main_role in self.roles


class MakesUp(Sourced):
    """By how much a line goes at most that only makes up for what a report moves, by main role [points]."""

    points: dict[Role, ByDegree]


class InUseRules(Table):
    """rules/in_use.toml."""

    moves_at_most: Annotated[int, Field(ge=1)]
    makes_up: MakesUp
    instead_share: Share
    move: tuple[InUseMove, ...]


def is_mainly(one: Ingredient, components: tuple[str, ...]) -> bool:
    """Tell whether what a material holds most of, water apart, is among some components."""
    return main_component(one) in {folded_name(name) for name in components}
