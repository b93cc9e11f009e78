"""The shape of rules/pairs.toml, what must not meet, and what a material's data say so."""

from functools import lru_cache
from typing import Literal, Self

from pydantic import Field, model_validator

from advisor.rulebook.ingredient import Ingredient
from advisor.rulebook.table import Id, Positive, Sentence, Share, Sourced, Table
from advisor.schema.base import PH, PercentOrZero
from advisor.schema.material import Charge, Form, Role

Severity = Literal["danger", "law", "dough", "advice"]
_DIGITS = 9
Refuse = Literal["always", "as_used", "never"]


class Side(Table):
    """Which materials stand on one side of a pair: all that is named must fit.

    ``components``: together at least ``at_least_percent`` of these; ``all_components``: each of these;
    ``without``: none of these; ``or_roles``: materials of these roles besides. ``molar_masses`` [g/mol] let
    moles count. ``called`` are the names a material's own data use, ``from_percent`` is what counts then.
    """

    charges: tuple[Charge, ...] = ()
    roles: tuple[Role, ...] = ()
    or_roles: tuple[Role, ...] = ()
    forms: tuple[Form, ...] = ()
    components: tuple[str, ...] = ()
    all_components: tuple[str, ...] = ()
    without: tuple[str, ...] = ()
    molar_masses: dict[str, Positive] = Field(default_factory=dict)
    at_least_percent: Positive = 0.001
    called: tuple[str, ...] = ()
    from_percent: PercentOrZero = 0.0


class Part(Table):
    """One side of a pair by its name, and how much of it must be there [% of the recipe]."""

    of: Id
    from_percent: PercentOrZero = 0.0
    over_percent: PercentOrZero = 0.0
    up_to_percent: PercentOrZero = 100.0

    def holds(self, amount: float) -> bool:
        """Tell whether an amount lies within the bounds; none at all never does."""
        amount = round(amount, _DIGITS)
        return amount > self.over_percent and self.from_percent <= amount <= self.up_to_percent


class PairRules(Sourced):
    """Two sides that must not meet, how bad that is, and whether it keeps a new material out.

    ``mole_ratio_from`` and ``mole_ratio_below`` bound the first side in moles for each mole of the second;
    ``ph_under`` bounds the pH, one that is not known lying under it.
    """

    id: Id
    severity: Severity
    refuse: Refuse
    first: Part
    second: Part
    mole_ratio_from: Share | None = None
    mole_ratio_below: Share | None = None
    ph_under: PH | None = None
    text: Sentence


class Stated(Sourced):
    """How a thing is told that a material's own data say.

    ``acid_under`` and ``alkali_over`` are where a strong acid or alkali begins for a material that does not
    say in which pH it works.
    """

    acid_under: PH | None = None
    alkali_over: PH | None = None
    severity: Severity
    refuse: Refuse = "never"
    text: Sentence


class PairsFile(Table):
    """rules/pairs.toml."""

    stated: Stated
    stated_ph: Stated
    stated_heat: Stated
    side: dict[Id, Side]
    pair: tuple[PairRules, ...]

    @model_validator(mode="after")
    def _sides_known(self) -> Self:
        for pair in self.pair:
            for part in (pair.first, pair.second):
                if part.of not in self.side:
                    raise ValueError(f"{pair.id} names a side {part.of} that does not stand here")
        return self


_REMEMBERED = 8192
BEYOND_WINDOW = {"strong acid": "min", "strong alkali": "max"}


@lru_cache(maxsize=_REMEMBERED)
def conditions_stated(one: Ingredient) -> tuple[str, ...]:
    """Return what a material says it does not bear that is no material: of pH and of heat."""
    return tuple(
        name
        for name in one.material.incompatible_with
        if name.casefold() in BEYOND_WINDOW or window_named(name) is not None or heat_named(name) is not None
    )


@lru_cache(maxsize=_REMEMBERED)
def window_named(name: str) -> tuple[float | None, float | None] | None:
    """Return the pH a material bears, low and high, where a text speaks of pH.

    Examples
    --------
    >>> window_named("pH above 6"), window_named("pH below 5"), window_named("acids")
    ((None, 6.0), (5.0, None), None)
    """
    match _words_of("ph", name):
        case ["above" | "over", figure] if _is_figure(figure):
            return (None, float(figure))
        case ["below" | "under", figure] if _is_figure(figure):
            return (float(figure), None)
    return None


@lru_cache(maxsize=_REMEMBERED)
def heat_named(name: str) -> float | None:
    """Return the temperature a material bears [degrees Celsius] where a text speaks of heat.

    Examples
    --------
    >>> heat_named("heat above 60 C"), heat_named("acids")
    (60.0, None)
    """
    match _words_of("heat", name):
        case ["above" | "over", figure, *_] if _is_figure(figure):
            return float(figure)
    return None


def _words_of(what: str, name: str) -> list[str]:
    """Return what a text says of something it begins with; nothing where it speaks of something else."""
    first, *words = name.split(maxsplit=1) or [""]
    return words[0].casefold().split() if words and first.casefold() == what else []


def _is_figure(text: str) -> bool:
    return text.replace(".", "", 1).isdigit()
