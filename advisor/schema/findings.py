"""What answers are made of: totals, consistency, checks, changes, texts, and what shifts between recipes."""

from typing import Annotated, Any, Literal

from pydantic import Field

from advisor.schema.base import Extensible, Shape

Word = Literal["dry", "slightly_dry", "workable", "slightly_wet", "wet", "unknown"]


class AsDried(Shape):
    """The dried bar: what is left of 100 g of dough [g], and percent of that."""

    mass_left: float
    active: float
    water: float


class Totals(Shape):
    """Sums over a recipe [% of the recipe], with the price [currency per kg] where every price is known."""

    active: float
    primary_active: float
    cationic: float
    water: float
    liquids: float
    powders: float
    oils: float
    price_per_kg: float | None
    as_dried: AsDried


class Consistency(Shape):
    """How wet a dough is for its powders; null where it has no powder or no liquid.

    ``liquid_to_powder``, ``watery_share`` and ``oil_per_powder`` are ratios by mass, ``wetness`` is the
    wetting index (1 = centre of the workable window as first guessed), chances are shares 0..1.
    """

    liquid_to_powder: float | None
    wetness: float | None
    wetness_at_20c: float | None
    word: Word
    watery_share: float | None
    oil_per_powder: float | None
    coarse_share: float | None
    chance_workable: float | None
    chance_close: float | None
    basis: Literal["estimate", "own"]


class Check(Shape):
    """One demand held against a recipe; value, min and max are the figures a reader compares."""

    name: str
    value: float
    unit: str
    min: float | None
    max: float | None
    ok: bool
    binding: bool
    kind: Literal["total", "law", "wish", "dough", "use", "advice"]
    state: Literal["as_made", "as_dried"]
    about: tuple[str, ...]
    verdict: Literal["pass", "depends", "over"] | None = None
    basis: str
    source: str

    @property
    def bounds(self) -> list[float]:
        """The ends it has."""
        return [one for one in (self.min, self.max) if one is not None]

    @property
    def finding(self) -> str:
        """The id of the finding that tells that it is not met."""
        named = {
            "law": f"law:{self.name}:{self.state}",
            "use": f"usual:{':'.join(self.about)}",
            "advice": f"level:{self.name}",
        }
        return named.get(self.kind, f"{self.kind}:{self.name}")


class MovedLine(Shape):
    """A material whose share differs from that of the version it comes from [% of the recipe]."""

    material: str
    before: float
    after: float
    change: float


class Change(MovedLine):
    """One line that moved [% of the recipe], with its reason, and what the figures were had it stayed."""

    why: str
    why_figures: str = ""
    grams_before: float | None = None
    grams_after: float | None = None


class TextItem(Shape):
    """A sentence with a stable id."""

    id: Annotated[str, Field(description="It stays the same; more ids may come.", examples=["estimate"])]
    text: str


class Caution(TextItem):
    """What to take care of; ``standing`` where it holds of the work in general, not of this recipe."""

    standing: bool


class Finding(TextItem):
    """What stands out in a recipe, and which materials it is about; the worst severity is danger."""

    severity: Literal["danger", "law", "dough", "advice"]
    about: tuple[str, ...]


class Sensitivity(Shape):
    """What ``per`` more room at one bound changes; true when the program is solved again."""

    name: str
    bound: Literal["min", "max"]
    per: float
    unit: str
    effect: float
    effect_of: str
    text: str


class HoldBack(Shape):
    """What to keep back and feed to feel [% of the recipe, and g where the batch is known]."""

    material: str
    percent: float
    grams: float | None = None


class State(Shape):
    """Totals and consistency of one recipe."""

    totals: Totals
    consistency: Consistency


class Answer(Shape):
    """What every answer carries."""

    cautions: tuple[Caution, ...]
    notes: tuple[TextItem, ...]
    rules_version: str

    def __repr__(self) -> str:
        """Return its words and figures, and how many there are of everything else."""
        told = (
            f"{name}={value!r}" if isinstance(value, str | int | float) else f"{name}=<{len(value)}>"
            for name, value in self
            if isinstance(value, str | int | float | tuple | dict)
        )
        return f"{type(self).__name__}({', '.join(told)})"

    def to_frame(self, part: str = "") -> Any:
        """Return a part of the answer as a pandas DataFrame, as ``advisor.as_frame`` does."""
        from advisor.frames import as_frame

        return as_frame(self, part)

    def _repr_html_(self) -> str:
        """Return what a notebook shows: the first list as a table and the sentences, escaped."""
        from advisor.frames import as_html

        return as_html(self)


What = Annotated[
    Literal[
        "strength",
        "wetness",
        "mildness",
        "foam",
        "hardness",
        "fineness",
        "ph",
        "water",
        "balance",
        "sulfate_free",
        "ethoxylated",
        "vegan",
        "palm",
        "allergens",
        "label",
        "price",
        "preservation",
        "safety",
        "limits",
    ],
    Extensible(),
]
Direction = Literal["better", "worse", "up", "down", "more", "less", "changed"]


class Shift(Shape):
    """What changes besides the arithmetic."""

    what: What
    direction: Direction
    text: str
