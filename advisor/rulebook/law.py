"""The shape of rules/limits/: what a market's law says of a recipe, and its lookup by component."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from advisor.errors import RulesError
from advisor.rulebook.label import Names
from advisor.rulebook.substances import Substances, as_acid
from advisor.rulebook.table import Id, Number, Positive, Sentence, Source, Table
from advisor.schema.base import PH, Basis, Market

CountedAs = Literal["itself", "acid"]
Composition = Mapping[str, float]


class Cited(Table):
    """An entry of a law, by its place in the text."""

    id: Id
    entry: Source
    basis: Basis


class LimitEntry(Cited):
    """A highest percent in the finished product, over the sum of its components."""

    name: Source
    components: Names
    max: Positive
    counted_as: Annotated[CountedAs, Field(alias="as")]
    forbidden_with: tuple[Id, ...] = ()
    note: str = ""


class ConditionEntry(Cited):
    """What the law asks besides a percent; without components it concerns every product.

    ``from_percent`` is the sum of the components from which it applies [%].
    """

    components: tuple[str, ...]
    text: Sentence
    from_percent: Number = 0.0
    ph_min: PH | None = None
    ph_max: PH | None = None


class NoMaximum(Table):
    """A material the market sets no maximum for: no verdict on preservation may rest on it."""

    id: Id
    name: Source
    components: Names


class LawFile(Table):
    """A file of rules/limits/, with the date of the text its figures were read in."""

    market: Market
    title: Source
    text_of: Source
    source: Source
    caveat: Sentence
    limit: tuple[LimitEntry, ...] = ()
    condition: tuple[ConditionEntry, ...] = ()
    no_maximum: tuple[NoMaximum, ...] = ()

    @model_validator(mode="after")
    def _excluded_limits_exist(self) -> Self:
        ids = {limit.id for limit in self.limit}
        for limit in self.limit:
            for other in set(limit.forbidden_with) - ids:
                raise ValueError(f"{limit.id}: forbidden_with names {other}, which is no limit")
        return self

    def cited(self, entry: Cited) -> str:
        """Return where an entry stands, with the date of the text."""
        return f"{self.source}, {entry.entry} (text of {self.text_of})"


@dataclass(frozen=True, slots=True)
class Limit:
    """A highest percent in the finished product, over the sum of its components.

    ``max`` in percent of the product; ``weights`` holds, by case-folded component name, how much one part
    of the component counts: 1, or the acid it stands for by molar mass.
    """

    id: str
    name: str
    components: tuple[str, ...]
    max: float
    counted_as: CountedAs
    entry: str
    basis: str
    source: str
    weights: Mapping[str, float]
    forbidden_with: tuple[str, ...] = ()
    note: str = ""


@dataclass(frozen=True, slots=True)
class Condition:
    """What the law asks besides a percent; see ConditionEntry."""

    id: str
    components: tuple[str, ...]
    text: str
    entry: str
    basis: str
    source: str
    from_percent: float = 0.0
    ph_min: float | None = None
    ph_max: float | None = None


@dataclass(frozen=True)
class LawBook:
    """The law of one market, with the date of the text its figures were read in."""

    market: str
    title: str
    text_of: str
    source: str
    caveat: str
    limits: tuple[Limit, ...]
    conditions: tuple[Condition, ...]
    no_maximum: tuple[NoMaximum, ...]

    @cached_property
    def weights_of(self) -> Mapping[str, tuple[tuple[str, float], ...]]:
        """The limits each component counts toward, by case-folded name, with its weight there."""
        found: dict[str, list[tuple[str, float]]] = {}
        for limit in self.limits:
            for name, weight in limit.weights.items():
                found.setdefault(name, []).append((limit.id, weight))
        return {name: tuple(pairs) for name, pairs in found.items()}


def law_book(file: LawFile, substances: Substances) -> LawBook:
    """Return the law of one market, with what each component counts for.

    Raises
    ------
    RulesError
        A component is counted as acid and its molar masses are not known.

    Examples
    --------
    >>> file = LawFile.model_validate({"market": "eu", "title": "European Union", "source": "Annexes",
    ...     "text_of": "31 October 2025", "caveat": "Check the text in force.", "limit": [
    ...     {"id": "phenoxyethanol", "name": "phenoxyethanol", "components": ["Phenoxyethanol"],
    ...      "max": 1.0, "as": "itself", "entry": "Annex V, 29", "basis": "published"}]})
    >>> law_book(file, {}).limits[0].source
    'Annexes, Annex V, 29 (text of 31 October 2025)'
    """
    return LawBook(
        market=file.market,
        title=file.title,
        text_of=file.text_of,
        source=file.source,
        caveat=file.caveat,
        limits=tuple(
            Limit(source=file.cited(entry), weights=_weights(entry, substances), **entry.model_dump())
            for entry in file.limit
        ),
        conditions=tuple(
            Condition(source=file.cited(entry), **entry.model_dump()) for entry in file.condition
        ),
        no_maximum=file.no_maximum,
    )


def _weights(entry: LimitEntry, substances: Substances) -> dict[str, float]:
    if entry.counted_as == "itself":
        return dict.fromkeys((component.casefold() for component in entry.components), 1.0)
    try:
        return {component.casefold(): as_acid(component, substances) for component in entry.components}
    except RulesError as error:
        raise RulesError(f"{entry.id}: {error.detail}") from error


def coefficient(limit: Limit, composition: Composition) -> float:
    """Return the share of a material that counts toward a limit.

    Parameters
    ----------
    limit : Limit
        The limit, as acid or as it stands.
    composition : mapping
        Share 0..1 of each component by INCI name; percent works as well and gives percent.

    Examples
    --------
    >>> limit = Limit("sorbic-acid", "sorbic acid and its salts", ("Potassium Sorbate",), 0.6, "acid",
    ...     "Annex V, 4", "published", "", {"potassium sorbate": 0.7464})
    >>> round(coefficient(limit, {"Potassium Sorbate": 0.15, "Aqua": 0.85}), 5)
    0.11196
    """
    return sum(share * limit.weights.get(name.casefold(), 0.0) for name, share in composition.items())


def counted(book: LawBook, folded: Composition) -> dict[str, float]:
    """Return the share of a material that counts toward each limit it touches, by the limit's id.

    ``folded`` holds the share of each component by case-folded name.

    Examples
    --------
    >>> from advisor.rulebook.load import load_rulebook
    >>> counted(load_rulebook().laws["eu"], {"phenoxyethanol": 0.9, "ethylhexylglycerin": 0.1})
    {'phenoxyethanol': 0.9}
    """
    shares: dict[str, float] = {}
    for name, share in folded.items():
        for limit_id, weight in book.weights_of.get(name, ()):
            shares[limit_id] = shares.get(limit_id, 0.0) + weight * share
    return shares


def conditions_met(book: LawBook, composition: Composition, ph: float | None = None) -> tuple[Condition, ...]:
    """Return the conditions a maker must be told of.

    A condition with a pH is told when the pH is unknown or outside its bounds; one that concerns every
    product only when a known pH is outside.

    Parameters
    ----------
    book : LawBook
        The law of a market.
    composition : mapping
        Percent of each component in the product.
    ph : float, optional
        Measured pH of the product.

    Examples
    --------
    >>> condition = Condition("caustic", ("Sodium Hydroxide",), "pH below 11.", "", "", "", ph_max=11)
    >>> book = LawBook("eu", "", "", "", "", (), (condition,), ())
    >>> [len(conditions_met(book, {"Sodium Hydroxide": 0.1}, ph)) for ph in (None, 6.0, 11.5)]
    [1, 0, 1]
    """
    amounts = _folded(composition)
    told = []
    for condition in book.conditions:
        amount = sum(amounts.get(name.casefold(), 0.0) for name in condition.components)
        if condition.components and (amount <= 0 or amount < condition.from_percent):
            continue
        bounded = condition.ph_min is not None or condition.ph_max is not None
        if bounded and ph is None and not condition.components:
            continue
        if bounded and ph is not None and _inside(ph, condition.ph_min, condition.ph_max):
            continue
        told.append(condition)
    return tuple(told)


def without_maximum(book: LawBook, composition: Composition) -> tuple[NoMaximum, ...]:
    """Return the entries without a maximum that a product holds."""
    amounts = _folded(composition)
    return tuple(
        entry
        for entry in book.no_maximum
        if any(amounts.get(name.casefold(), 0.0) > 0 for name in entry.components)
    )


def _folded(composition: Composition) -> dict[str, float]:
    amounts: dict[str, float] = {}
    for name, amount in composition.items():
        amounts[name.casefold()] = amounts.get(name.casefold(), 0.0) + amount
    return amounts


def _inside(value: float, low: float | None, high: float | None) -> bool:
    return (low is None or value >= low) and (high is None or value <= high)
