"""The strength call: request and answer."""

from advisor.schema.base import Asked, Grams, Shape
from advisor.schema.drying import Bounds
from advisor.schema.findings import Answer
from advisor.schema.material import Materials
from advisor.schema.recipe import Recipe
from advisor.schema.wishes import Band


class StrengthRequest(Asked):
    """A recipe whose lots are known by ranges; the balance counts where the recipe is in grams."""

    recipe: Recipe
    materials: Materials | None = None
    balance_step: Grams | None = None
    band: Band | None = None


class Contribution(Shape):
    """What one material brings: mean and sd [% of the recipe], share of the variance (0..1)."""

    material: str
    mean: float
    sd: float
    share_of_variance: float


class StrengthAnswer(Answer):
    """Active matter of the batch [% of the recipe] and the chance (0..1) that it lies in the band.

    ``exact`` is false where the chance was drawn instead of reckoned.
    """

    mean: float
    sd: float
    chance_in_band: float
    interval80: Bounds
    band: Band
    exact: bool
    contributions: tuple[Contribution, ...]
