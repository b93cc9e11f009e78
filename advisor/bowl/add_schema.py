"""The call on the dough in the bowl: request and answer."""

from typing import Literal, Self

from pydantic import model_validator

from advisor.schema.acidity import WithPH
from advisor.schema.base import BalanceStep, Grams, GramsOrZero, Shape
from advisor.schema.findings import Answer, Check, State, TextItem
from advisor.schema.material import Materials
from advisor.schema.recipe import GramLine, GramRecipe, Recipe, Shelf
from advisor.schema.report import History, Report
from advisor.schema.wishes import Wishes


class AdditionRequest(WithPH):
    """A dough in the bowl [g, before the loss], what the maker saw, and the balance [g]."""

    recipe: Recipe
    lost_grams: GramsOrZero | None = None
    report: Report
    wishes: Wishes | None = None
    shelf: Shelf | None = None
    materials: Materials | None = None
    history: History | None = None
    balance_step: BalanceStep
    smallest_grams: Grams | None = None

    @model_validator(mode="after")
    def _can_be_weighed(self) -> Self:
        grams = [line.grams for line in self.recipe.lines if line.grams is not None]
        if grams and sum(grams) < self.balance_step:
            raise ValueError("balance_step is coarser than the whole dough")
        return self


class AddedLine(Shape):
    """What to add of one material [g]; ``exact_grams`` is what a perfect balance would weigh.

    ``why_figures`` tells what were so without it.
    """

    material: str
    grams: float
    exact_grams: float
    why: str
    why_figures: str = ""


class Shortfall(Shape):
    """A demand that additions cannot meet, and by how much it is missed in its unit."""

    demand: str
    by: float
    unit: str
    bound: float
    value: float
    state: Literal["as_made", "as_dried"]


class AdditionAnswer(Answer):
    """What to add to the bowl, in which stages, and where that leads; ``second_go`` is what is left [g]."""

    additions: tuple[AddedLine, ...]
    stages: tuple[tuple[GramLine, ...], ...]
    second_go: tuple[GramLine, ...]
    bowl_after: GramRecipe
    shortfalls: tuple[Shortfall, ...]
    before: State
    after: State
    checks: tuple[Check, ...]
    advice: tuple[TextItem, ...]
    questions: tuple[TextItem, ...]
