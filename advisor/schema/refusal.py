"""What is told where no recipe fits: which demands exclude each other, and the recipe that comes nearest."""

from advisor.schema.base import Shape
from advisor.schema.findings import Check, State
from advisor.schema.recipe import PercentRecipe


class ConflictingDemand(Shape):
    """One demand of an irreducible conflict."""

    demand: str
    value: float
    unit: str
    kind: str
    where: str
    source: str


class Bend(Shape):
    """How far the nearest recipe breaks a demand."""

    demand: str
    by: float
    unit: str
    where: str


class NearestRecipe(Shape):
    """The recipe that keeps total and law and bends the rest least."""

    recipe: PercentRecipe
    bends: tuple[Bend, ...]
    after: State
    checks: tuple[Check, ...]
