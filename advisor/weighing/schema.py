"""The weighing call: request and answer."""

from typing import Annotated, Literal

from pydantic import Field

from advisor.schema.base import Grams, Key, Shape
from advisor.schema.findings import Answer, Check
from advisor.schema.material import Estimate
from advisor.schema.recipe import GramLine, LotUsed, Method, OfRecipe

Letter = Annotated[str, Field(strict=True, pattern=r"^[A-Z]$")]
Phases = Annotated[dict[Key, Letter], Field(max_length=200)]


class WeighingRequest(OfRecipe):
    """A recipe, the mass of the batch [g], what the balances read to [g], and how it is worked."""

    batch_grams: Grams
    balance_step: Grams
    fine_balance_step: Grams | None = None
    phases: Phases | None = None
    dried_bar_grams: Grams | None = None
    method: Method | None = None


class BalanceUse(Shape):
    """A balance: its step, and the smallest weight it is good for [g].

    ``smallest_potent_grams`` is for preservatives, acids and whatever stands near a limit;
    ``pharmacy_grams`` is what a pharmacopoeia would ask of a balance that repeats within half a step.
    """

    balance: Literal["coarse", "fine"]
    step_grams: float
    smallest_grams: float
    smallest_potent_grams: float
    pharmacy_grams: float


class WeighedLine(Shape):
    """One material to weigh [g], on which balance, in which phase, and how far it may be off [g].

    ``exact_grams`` is what the recipe asks for before it is rounded to the balance.
    """

    material: str
    name: str
    grams: float
    exact_grams: float
    phase: str
    balance: Literal["coarse", "fine"]
    tolerance_grams: float
    warning: str | None = None
    lot: LotUsed = None


class Premix(Shape):
    """A dilution that can be weighed, for a line that cannot [g].

    ``material_grams`` and ``carrier_grams`` are mixed; ``take_grams`` of that stand for ``line_grams`` of
    the line and for what is taken off the carrier, of which ``carrier_left_grams`` are weighed besides.
    ``dose_grams`` of the material reach the batch, within ``error_percent``.
    """

    material: str
    carrier: str
    material_grams: float
    carrier_grams: float
    premix_grams: float
    take_grams: float
    line_grams: float
    carrier_left_grams: float
    dose_grams: float
    error_percent: float
    text: str


class WeighStep(Shape):
    """One step of the work, in order; ``phase`` is null where it belongs to none."""

    id: str
    phase: str | None
    text: str
    materials: tuple[str, ...]
    minutes: float | None
    temperature_c: float | None


class Fill(Shape):
    """Dough for one bar of a dried weight [g], what stays on gloves and bowl [%], and how many bars."""

    dried_bar_grams: float
    dough_grams_per_bar: Estimate
    loss_percent: Estimate
    bars: int


class WeighingAnswer(Answer):
    """The weigh sheet: lines by phase, premixes, steps in order, what is kept back, checks and bars.

    ``hold_back`` are liquids, ``hold_back_powders`` surfactant powders and fillers [g]; both are parts of
    their lines.
    """

    name: str
    batch_grams: float
    total_grams: float
    balances: tuple[BalanceUse, ...]
    lines: tuple[WeighedLine, ...]
    premixes: tuple[Premix, ...]
    steps: tuple[WeighStep, ...]
    hold_back: tuple[GramLine, ...]
    hold_back_powders: tuple[GramLine, ...]
    checks: tuple[Check, ...]
    fill: Fill | None
