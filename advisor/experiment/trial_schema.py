"""The trial call: the small test dough that would teach most."""

from typing import Annotated

from pydantic import Field

from advisor.schema.base import Asked, Grams, Shape
from advisor.schema.findings import Answer
from advisor.schema.material import Materials
from advisor.schema.recipe import PercentRecipe, Recipe
from advisor.schema.report import History, Method
from advisor.weighing.schema import WeighingAnswer


class TrialRequest(Asked):
    """The recipes that are to become surer (default: those of the notebook), and what is known besides."""

    recipes: Annotated[tuple[Recipe, ...], Field(min_length=1, max_length=20)] | None = None
    history: History | None = None
    materials: Materials | None = None
    method: Method | None = None
    grams: Grams | None = None
    balance_step: Grams | None = None


class Surer(Shape):
    """How well a recipe's window is known: standard deviation of ln(wetting index) before and after."""

    name: str
    sd_before: float
    sd_after: float


class TrialAnswer(Answer):
    """The test dough, as a recipe and as a weighing, and what it is expected to teach.

    ``wetness`` is its wetting index, ``after`` the expectation over what may be felt.
    """

    recipe: PercentRecipe
    wetness: float
    text: str
    recipes: tuple[Surer, ...]
    weighing: WeighingAnswer
