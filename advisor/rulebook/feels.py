"""The shape of rules/feels.toml: feels, degrees and signs."""

from typing import Literal

from advisor.rulebook.table import Sentence, Sourced, Table
from advisor.schema.base import Degree
from advisor.schema.words import Feel, Sign

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
    """What one degree means."""

    name: str
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
