"""The shape of rules/feels.toml: feels, degrees and signs."""

from typing import Literal

from advisor.rulebook.table import Sentence, Sourced, Table
from advisor.schema.base import Degree, Feel
from advisor.schema.report import Sign


class FeelRules(Sourced):
    """What one feel means."""

    name: str
    meaning: Sentence
    moves: str


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
