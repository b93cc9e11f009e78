"""A material as supplied, with what its figures rest on, and the bench test of what a powder takes up."""

from typing import Annotated, Generic, Literal, Self, TypeVar

from pydantic import Field, field_validator, model_validator

from advisor.schema.base import (
    PH,
    Asked,
    Basis,
    Degrees,
    Flag,
    Grams,
    Key,
    Market,
    Name,
    Percent,
    PercentOrZero,
    Price,
    Shape,
    Text,
)
from advisor.schema.findings import Answer, TextItem

Form = Literal["powder", "granule", "flake", "liquid", "paste", "soft_solid", "hard_solid"]
Role = Literal[
    "primary_surfactant",
    "co_surfactant",
    "filler",
    "emollient",
    "humectant",
    "binder",
    "structurant",
    "preservative",
    "acid",
    "base",
    "chelator",
    "fragrance",
    "colourant",
    "water",
    "featured",
    "rework",
]
Charge = Literal["anionic", "amphoteric", "zwitterionic", "nonionic", "cationic", "none"]
WaterKind = Literal["free", "held", "moisture", "crystal"]
Uptake = Annotated[float, Field(strict=True, allow_inf_nan=False, ge=0, le=20)]
MolarMass = Annotated[float, Field(strict=True, allow_inf_nan=False, gt=0, le=1_000_000)]
Mildness = Annotated[int, Field(strict=True, ge=1, le=5)]
Evidenced = Literal[
    "composition",
    "use",
    "ph",
    "works_ph",
    "melts_c",
    "hazards",
    "mildness",
    "flags",
    "molar_mass",
    "incompatible_with",
]


class Evidence(Asked):
    """Where a figure that carries no source of its own comes from."""

    basis: Basis
    source: Text


Value = TypeVar("Value")


class Figure(Asked, Generic[Value]):
    """A typical value with its range, and what it rests on."""

    typical: Value
    low: Value | None = None
    high: Value | None = None
    basis: Basis | None = None
    source: Text | None = None

    @model_validator(mode="after")
    def _ordered(self) -> Self:
        present = [value for value in (self.low, self.typical, self.high) if value is not None]
        if present != sorted(present):  # type: ignore[type-var]
            raise ValueError("needs low <= typical <= high")
        return self


class PercentFigure(Figure[PercentOrZero]):
    """A percent with its range, and what it rests on."""


class UptakeFigure(Figure[Uptake]):
    """Grams of reference liquid a gram takes up or stands for, with their range, and what they rest on."""


class PriceFigure(Figure[Price]):
    """A price per kilogram with its range, and what it rests on."""


class Ends(Asked):
    """What lies between two ends; a missing one is open."""

    min: float | None = None
    max: float | None = None

    @model_validator(mode="after")
    def _ordered(self) -> Self:
        if self.min is not None and self.max is not None and self.min > self.max:
            raise ValueError("needs min <= max")
        return self

    def holds(self, value: float) -> bool:
        """Tell whether a value lies between the ends.

        Examples
        --------
        >>> Ends(min=4).holds(4), Ends(max=5.5).holds(6)
        (True, False)
        """
        return (self.min is None or value >= self.min) and (self.max is None or value <= self.max)


class Range(Ends):
    """A use range [% of the recipe]."""

    min: PercentOrZero | None = None
    max: PercentOrZero | None = None


class WorkingPH(Ends):
    """The pH window in which a preservative works."""

    min: PH | None = None
    max: PH | None = None


class PHRange(WorkingPH):
    """A pH range, with the dilution it was read at [%] where that is known."""

    at_percent: Percent | None = None


class Flags(Asked):
    """Hints about the origin of a material; never a claim."""

    sulfate_free: Flag | None = None
    ethoxylated: Flag | None = None
    palm: Flag | None = None
    vegan: Flag | None = None


class Identifier(Asked):
    """Numbers by which a component is known everywhere."""

    cas: Annotated[str, Field(strict=True, pattern=r"^[0-9]{2,7}-[0-9]{2}-[0-9]$")] | None = None
    ec: Annotated[str, Field(strict=True, pattern=r"^[0-9]{3}-[0-9]{3}-[0-9]$")] | None = None


_Declared = Annotated[tuple[Name, ...], Field(max_length=1000)]


class Material(Asked):
    """A material as supplied.

    Composition, activity and water are percent of the material by mass. ``uptake`` is grams of reference
    liquid that one gram of a powder takes up at a workable dough; ``wetting`` is grams of reference liquid
    that one gram of a liquid stands for.
    """

    key: Key
    name: Name
    form: Form
    roles: Annotated[tuple[Role, ...], Field(min_length=1, max_length=15)]
    composition: Annotated[dict[Name, Percent], Field(min_length=1, max_length=100)]
    identifiers: Annotated[dict[Name, Identifier], Field(max_length=100)] = Field(default_factory=dict)
    charge: Charge = "none"
    also: Annotated[tuple[Text, ...], Field(max_length=50)] = ()
    fineness: Literal["fine", "coarse"] | None = None
    active: PercentOrZero | PercentFigure = 0.0
    water: PercentOrZero | PercentFigure | None = None
    water_kind: WaterKind | None = None
    soluble: Flag | None = None
    uptake: Uptake | UptakeFigure | None = None
    wetting: Uptake | UptakeFigure | None = None
    price_per_kg: Price | PriceFigure | None = None
    use: Range | None = None
    melts_c: Degrees | None = None
    ph: PHRange | None = None
    works_ph: WorkingPH | None = None
    molar_mass: MolarMass | None = None
    declared: _Declared | dict[Market, _Declared] | None = None
    hazards: Annotated[tuple[Text, ...], Field(max_length=50)] = ()
    allergens: Annotated[tuple[Text, ...], Field(max_length=50)] = ()
    mildness: Mildness | None = None
    incompatible_with: Annotated[tuple[Text, ...], Field(max_length=50)] = ()
    flags: Flags | None = None
    basis: Basis | None = None
    source: Text | None = None
    evidence: dict[Evidenced, Evidence] | None = None
    notes: Text | None = None

    @field_validator("composition")
    @classmethod
    def _adds_up(cls, composition: dict[str, float]) -> dict[str, float]:
        total = sum(composition.values())
        if abs(total - 100) > 0.5:
            raise ValueError(f"composition adds up to {total:g} %, not 100 within 0.5")
        return composition


Materials = Annotated[tuple[Material, ...], Field(max_length=1000)]


Step = Annotated[float, Field(strict=True, allow_inf_nan=False, gt=0, le=100)]


class Repeat(Asked):
    """One run of the test: liquid used [g] at the first ball, when smooth, and when it begins to stick."""

    first_ball: Grams | None = None
    smooth: Grams
    sticks: Grams | None = None

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        seen = [grams for grams in (self.first_ball, self.smooth, self.sticks) if grams is not None]
        if seen != sorted(seen):
            raise ValueError("needs first_ball <= smooth <= sticks")
        return self


class UptakeTest(Asked):
    """A bench test of one powder; without repeats the answer is the form to fill in."""

    material: Key
    liquid: Key = "water"
    powder_grams: Grams | None = None
    step_grams: Step | None = None
    repeats: Annotated[tuple[Repeat, ...], Field(max_length=20)] = ()


class UptakeTestRequest(UptakeTest):
    """A bench test with the materials it names."""

    materials: Materials | None = None


class Estimate(Shape):
    """A typical value between a low and a high one."""

    typical: float
    low: float
    high: float


class TakenUp(Estimate):
    """Grams of reference liquid one gram of a powder takes up, with its 80 % interval."""

    basis: str


class FormField(Shape):
    """One figure to write down."""

    name: str
    text: str
    unit: str


class UptakeTestAnswer(Answer):
    """What the test says, beside the library and weighed against it.

    ``measured`` is the test alone, ``prior`` the library's figure, ``combined`` what doughs are judged by
    from now on; null without repeats. ``relative_sd`` is the standard deviation of ln(measured).
    """

    material: str
    measured: TakenUp | None
    relative_sd: float | None
    repeat_sd: float | None
    prior: TakenUp
    combined: TakenUp | None
    window: float | None
    steps: tuple[TextItem, ...]
    form: tuple[FormField, ...]
