"""The costing call: request and answer."""

from typing import Annotated

from pydantic import Field

from advisor.schema.base import Asked, Grams, Key, Name, PercentOrZero, Price, Shape
from advisor.schema.findings import Answer
from advisor.schema.material import Materials
from advisor.schema.recipe import Method, Recipe

Factor = Annotated[float, Field(strict=True, allow_inf_nan=False, gt=0, le=1000)]


class BarCosts(Asked):
    """What every sold bar costs besides its dough [currency]."""

    wrap: Price | None = None
    label: Price | None = None
    other: Price | None = None


class BatchCosts(Asked):
    """What a batch costs besides its dough [currency]."""

    work: Price | None = None
    other: Price | None = None


class CostingRequest(Asked):
    """A recipe, the dough that is weighed out and the dried weight of a bar, with what else is paid.

    ``loss_percent`` takes the place of the usual loss; ``prices`` are what was paid, ``earlier_prices``
    those of the last costing [currency per kg]; ``factor`` times the cost of a sold bar is its price.
    """

    recipe: Recipe
    batch_grams: Grams
    dried_bar_grams: Grams
    loss_percent: PercentOrZero | None = None
    method: Method | None = None
    per_bar: BarCosts | None = None
    per_batch: BatchCosts | None = None
    factor: Factor | None = None
    currency: Name | None = None
    prices: Annotated[dict[Key, Price], Field(max_length=200)] = Field(default_factory=dict)
    earlier_prices: Annotated[dict[Key, Price], Field(max_length=200)] | None = None
    materials: Materials | None = None


class CostParts(Shape):
    """What a batch or a sold bar costs, part by part, to the cent [currency]."""

    dough: float
    work: float
    wrap: float
    label: float
    other: float
    total: float


class CostLine(Shape):
    """What one material costs: grams in the batch, price per kg, cost to the cent; null where unpriced."""

    material: str
    grams: float
    price_per_kg: float | None
    cost: float | None


class BarsSold(Shape):
    """What becomes of a batch: bars made, kept, and sold on the mean of many batches; dough [g], loss [%]."""

    made: int
    kept: int
    sold: float
    dough_grams_per_bar: float
    loss_percent: float
    test_grams: float


class PriceMoved(Shape):
    """A price that is not what it was [currency per kg], and what that makes of a sold bar [currency]."""

    material: str
    before: float
    after: float
    per_bar: float | None


class CostingAnswer(Answer):
    """Costs of the batch and of a sold bar; null per bar where no bar is sold.

    ``lines`` add up to the dough of the batch; ``price`` is what a bar is sold for at the factor.
    """

    currency: str | None
    per_batch: CostParts
    per_bar: CostParts | None
    bars: int
    sold: BarsSold
    lines: tuple[CostLine, ...]
    price: float | None
    unpriced: tuple[str, ...]
    moved: tuple[PriceMoved, ...]
