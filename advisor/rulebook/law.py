"""The shape of rules/law/: the head of a market's law, and the law with its lists, looked up by component."""

import datetime
from collections.abc import Iterable, Mapping
from typing import Annotated, Any, Self

from pydantic import Field, model_validator

from advisor.frozen import cached_property, dataclass
from advisor.rulebook.label import Names
from advisor.rulebook.law_lists import (
    Limit,
    LimitRow,
    ListName,
    Prohibited,
    ProhibitedRow,
    Row,
    limit,
)
from advisor.rulebook.naming import NameIndex, plain
from advisor.rulebook.substances import Substances
from advisor.rulebook.table import Id, Number, Sentence, Source, Table
from advisor.schema.base import PH, Basis, Market
from advisor.sums import summed

Composition = Mapping[str, float]
Rows = Mapping[ListName, tuple[Row, ...]]
_EXHAUSTIVE = ("preservatives", "colourants")


class Cited(Table):
    """An entry of a law, by its place in the text."""

    id: Id
    entry: Source
    basis: Basis

    @property
    def source(self) -> str:
        """Where it stands, and what that rests on, of what is in no list: ``entry`` names the act itself."""
        return f"{self.entry} ({self.basis})"


class ConditionEntry(Cited):
    """What the law asks besides a percent; without components it concerns every product.

    ``from_percent`` is the sum of the components from which it applies [%]; ``unlisted``: it is in no list.
    """

    components: tuple[str, ...]
    text: Sentence
    from_percent: Number = 0.0
    ph_min: PH | None = None
    ph_max: PH | None = None
    unlisted: bool = False


class NoMaximum(Table):
    """A material the market sets no maximum for: no verdict on preservation may rest on it."""

    id: Id
    name: Source
    components: Names


class Announced(Cited):
    """A change that is known before it applies; ``components``: whom it concerns, all where none is named."""

    applies_from: datetime.date
    components: tuple[str, ...] = ()
    text: Sentence


class Duty(Cited):
    """What a maker has to do besides the recipe before a bar is sold."""

    text: Sentence


class Follows(Table):
    """The market whose lists hold here as well, as far as acts up to a year changed them last."""

    market: Market
    acts_until: Annotated[int, Field(strict=True, ge=1900, le=2100)]
    since: Source


class LawFile(Table):
    """The head of a market's law.

    ``text_of`` is the date of the text, ``verified_on`` the day it was last held against its source,
    ``review_by`` the day by which that is to be done again. ``exhaustive`` lists allow nothing else.
    """

    market: Market
    title: Source
    text_of: datetime.date
    verified_on: datetime.date
    review_by: datetime.date
    source: Source
    caveat: Sentence
    follows: Follows | None = None
    exhaustive: tuple[ListName, ...] = ()
    traces: tuple[str, ...] = ()
    asked_for_colour: tuple[str, ...] = ()
    colour_carriers: tuple[str, ...] = ()
    condition: tuple[ConditionEntry, ...] = ()
    no_maximum: tuple[NoMaximum, ...] = ()
    announced: tuple[Announced, ...] = ()
    duty: tuple[Duty, ...] = ()

    @model_validator(mode="after")
    def _reviewed_within_a_year(self) -> Self:
        if not self.verified_on < self.review_by <= self.verified_on + datetime.timedelta(days=366):
            raise ValueError("review_by is at most twelve months after verified_on")
        if not set(self.exhaustive) <= set(_EXHAUSTIVE):
            raise ValueError(f"exhaustive is one of {', '.join(_EXHAUSTIVE)}")
        return self

    def cited(self, entry: str, act: str = "") -> str:
        """Return where an entry stands, with the act that changed it last and the date of the text."""
        changed = f", as of {act}" if act else ""
        return f"{self.source}, {entry}{changed} (text of {self.text_of})"


@dataclass(frozen=True, eq=False)
class LawBook:
    """The law of one market as it is on one day.

    ``index`` finds every entry by its names and numbers, ``helps`` a prohibited one by the ingredients that
    the source names beside it; ``innocent`` are plain names of components that the library knows and no list
    need be asked about.
    """

    head: LawFile
    every_limit: tuple[Limit, ...]
    prohibited: tuple[Prohibited, ...]
    index: NameIndex[Prohibited | Limit]
    helps: NameIndex[Prohibited]
    innocent: frozenset[str] = frozenset()

    @property
    def text_of(self) -> str:
        """The date of the text its figures were read in."""
        return self.head.text_of.isoformat()

    @cached_property
    def limits(self) -> tuple[Limit, ...]:
        """The entries with a highest percent."""
        return tuple(limit for limit in self.every_limit if limit.max is not None)

    @cached_property
    def announced(self) -> tuple[tuple[Announced, frozenset[str]], ...]:
        """What is known to change, with the plain names of the components it concerns."""
        return tuple((one, frozenset(map(plain, one.components))) for one in self.head.announced)

    @cached_property
    def _places(self) -> Mapping[str, int]:
        return {limit.id: place for place, limit in enumerate(self.every_limit)}

    def entries(self, ids: Iterable[str]) -> list[Limit]:
        """Return the entries of some ids in the order of the law."""
        return [self.every_limit[place] for place in sorted(self._places[one] for one in ids)]

    def source_of(self, condition: ConditionEntry) -> str:
        """Return where a condition stands: in the text of the law, or in an act of its own."""
        return condition.source if condition.unlisted else self.head.cited(condition.entry)

    def preserves(self, name: str) -> bool:
        """Tell whether a component is a listed preservative."""
        return any(isinstance(one, Limit) and one.purpose == "preserving" for one in self.index.find(name))

    @cached_property
    def known_unlisted(self) -> frozenset[str]:
        """Plain names of what is known to be no preservative in law."""
        return self.innocent | {plain(name) for entry in self.head.no_maximum for name in entry.components}


def law_book(
    file: LawFile,
    rows: Rows,
    substances: Substances,
    day: datetime.date,
    innocent: frozenset[str] = frozenset(),
) -> LawBook:
    """Return the law of one market as it is on a day, with what each component counts for.

    Raises
    ------
    RulesError
        A component is counted as another substance and its molar masses are not known.

    Examples
    --------
    >>> file = LawFile.model_validate({"market": "eu", "title": "European Union", "source": "Annexes",
    ...     "text_of": datetime.date(2025, 10, 31), "caveat": "Check the text in force.",
    ...     "verified_on": datetime.date(2026, 1, 1), "review_by": datetime.date(2026, 7, 1)})
    >>> row = LimitRow.model_validate({"id": "phenoxyethanol", "name": "phenoxyethanol", "max": "1.0",
    ...     "components": "Phenoxyethanol", "entry": "Annex V, 29"})
    >>> law_book(file, {"preservatives": (row,)}, {}, datetime.date(2026, 2, 1)).limits[0].source
    'Annexes, Annex V, 29 (text of 2025-10-31)'
    """
    live: dict[ListName, list[Any]] = {
        name: [row for row in some if row.in_force(day)] for name, some in rows.items()
    }
    limits = tuple(
        limit(row, name, file.cited(row.entry, row.act), substances)
        for name, some in live.items()
        for row in some
        if isinstance(row, LimitRow)
    )
    prohibited = tuple(
        Prohibited(
            row.components[0], row.when, row.helps, row.names, row.basis, file.cited(row.entry, row.act)
        )
        for row in live.get("prohibited", ())
        if isinstance(row, ProhibitedRow)
    )
    entries: tuple[Prohibited | Limit, ...] = (*prohibited, *limits)
    return LawBook(
        head=file,
        every_limit=limits,
        prohibited=prohibited,
        index=NameIndex((one.names, one) for one in entries),
        helps=NameIndex((one.helps, one) for one in prohibited),
        innocent=innocent,
    )


def carried_over(rows: Rows, follows: Follows) -> Rows:
    """Return the rows of another market as they hold in one that follows it.

    What an act after the year of parting changed is asked about rather than judged, and rests on memory.
    """
    return {name: tuple(_carried(row, follows) for row in some) for name, some in rows.items()}


def _carried(row: Row, follows: Follows) -> Row:
    year = int(row.act.partition("/")[0]) if row.act[:4].isdigit() else follows.acts_until
    if year <= follows.acts_until:
        return row
    if isinstance(row, ProhibitedRow):
        return row.model_copy(update={"when": row.when or follows.since, "basis": "memory"})
    return row.model_copy(update={"basis": "memory"})


def joined(own: Rows, other: Rows) -> Rows:
    """Return the rows of two laws together; of limits with the same id the first law's stands."""
    found: dict[ListName, tuple[Row, ...]] = dict(other)
    for name, some in own.items():
        mine = {row.id for row in some if isinstance(row, LimitRow)}
        theirs = (row for row in other.get(name, ()) if not (isinstance(row, LimitRow) and row.id in mine))
        found[name] = (*some, *theirs)
    return found


def conditions_met(
    book: LawBook, composition: Composition, ph: float | None = None
) -> tuple[ConditionEntry, ...]:
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
    >>> from advisor.rulebook.load import load_rulebook
    >>> book = load_rulebook().laws["eu"]
    >>> [len(conditions_met(book, {"Sodium Hydroxide": 0.1}, ph)) for ph in (None, 6.0, 11.5)]
    [1, 0, 2]
    """
    amounts = _folded(composition)
    told = []
    for condition in book.head.condition:
        amount = sum(amounts.get(plain(name), 0.0) for name in condition.components)
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
        for entry in book.head.no_maximum
        if any(amounts.get(plain(name), 0.0) > 0 for name in entry.components)
    )


def _folded(composition: Composition) -> dict[str, float]:
    return summed((plain(name), amount) for name, amount in composition.items())


def _inside(value: float, low: float | None, high: float | None) -> bool:
    return (low is None or value >= low) and (high is None or value <= high)
