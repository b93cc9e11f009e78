"""The shape of rules/feels.toml: feels, degrees and signs."""

from typing import Literal

from advisor.rulebook.table import Sentence, Sourced, Table
from advisor.schema.base import Degree, Feel, Sign

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
