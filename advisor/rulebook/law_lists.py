"""The shapes of the lists of a law: what is prohibited, and what is allowed within limits."""

import datetime
from collections.abc import Mapping
from typing import Annotated, Any, Literal, get_args

from pydantic import BeforeValidator, Field

from advisor.errors import RulesError
from advisor.frozen import dataclass
from advisor.rulebook.naming import plain
from advisor.rulebook.substances import Substances, as_acid
from advisor.rulebook.table import Id, Table
from advisor.schema.base import Basis, UsedOn

CountedAs = Literal["itself", "acid"]
Purpose = Literal["", "preserving", "other"]
ListName = Literal["prohibited", "restricted", "colourants", "preservatives"]
EVERYWHERE: tuple[UsedOn, ...] = get_args(UsedOn)
_NOWHERE = "none"


def _cells(value: Any) -> Any:
    return tuple(part.strip() for part in value.split("|")) if isinstance(value, str) else value


Cells = Annotated[tuple[str, ...], BeforeValidator(_cells)]


class Row(Table):
    """An entry of a list, with what it rests on.

    ``act`` changed it last, ``dated`` says when the source took it up; ``applies_from`` and ``applies_until``
    bound the days on which it is law.
    """

    entry: Annotated[str, Field(min_length=1)]
    components: Annotated[Cells, Field(min_length=1)]
    cas: Cells = ()
    ec: Cells = ()
    act: str = ""
    dated: datetime.date | None = None
    basis: Basis = "published"
    applies_from: datetime.date | None = None
    applies_until: datetime.date | None = None

    @property
    def names(self) -> tuple[str, ...]:
        """Every name and number of it."""
        return (*self.components, *self.cas, *self.ec)

    def in_force(self, day: datetime.date) -> bool:
        """Tell whether it is law on a day."""
        begun = self.applies_from is None or self.applies_from <= day
        return begun and (self.applies_until is None or day < self.applies_until)


class ProhibitedRow(Row):
    """What no product may hold; ``when`` says where a ban depends on something.

    ``helps`` are ingredients that the source names beside the entry: a help in searching, no part of it.
    """

    when: str = ""
    helps: Cells = ()


class LimitRow(Row):
    """What a product may hold up to a maximum [%], for one class of products.

    ``used_on``: where the product is used, all where nothing is named; ``products`` in words where it is none
    or few. ``written`` is the maximum in the source's own words; ``label`` what the label must say,
    from ``label_from`` [%] of what is counted on where that is told.
    """

    id: Id
    name: Annotated[str, Field(min_length=1)]
    products: str = ""
    used_on: Cells = ()
    max: Annotated[float, Field(gt=0, allow_inf_nan=False)] | None = None
    counted_as: Annotated[CountedAs, Field(alias="as")] = "itself"
    written: str = ""
    purpose: Purpose = ""
    not_with: Cells = ()
    condition: str = ""
    label_from: Annotated[float, Field(gt=0, allow_inf_nan=False)] | None = None
    label: str = ""


@dataclass(frozen=True, slots=True, eq=False)
class Prohibited:
    """An entry of a list of prohibited substances; ``when`` empty: whatever the circumstances."""

    name: str
    when: str
    helps: tuple[str, ...]
    names: tuple[str, ...]
    basis: str
    source: str


@dataclass(frozen=True, slots=True, eq=False)
class Limit:
    """A highest percent in the finished product, over the sum of its components, or a listing without one.

    ``max`` in percent of the product; ``weights`` holds, by plain component name, how much one part of the
    component counts: 1, or what it stands for by molar mass.
    """

    id: str
    listed_in: ListName
    name: str
    components: tuple[str, ...]
    names: tuple[str, ...]
    max: float | None
    counted_as: CountedAs
    used_on: frozenset[str]
    products: str
    purpose: Purpose
    entry: str
    basis: str
    source: str
    weights: Mapping[str, float]
    forbidden_with: tuple[str, ...] = ()
    note: str = ""
    label_from: float | None = None
    label: str = ""

    def weight(self, name: str) -> float:
        """Return what one part of a component counts; found by a number, it counts as itself."""
        return self.weights.get(plain(name), 1.0)


def limit(row: LimitRow, listed_in: ListName, source: str, substances: Substances) -> Limit:
    """Return an entry with what each of its components counts for.

    Raises
    ------
    RulesError
        A component is counted as another substance and its molar masses are not known.

    Examples
    --------
    >>> row = LimitRow.model_validate({"id": "phenoxyethanol", "name": "phenoxyethanol", "max": "1.0",
    ...     "components": "Phenoxyethanol | 2-Phenoxyethanol", "entry": "Annex V, 29"})
    >>> limit(row, "preservatives", "Annex V, 29", {}).weight("2-PHENOXYETHANOL")
    1.0
    """
    places = EVERYWHERE if not row.used_on else () if row.used_on == (_NOWHERE,) else row.used_on
    return Limit(
        id=row.id,
        listed_in=listed_in,
        name=row.name,
        components=row.components,
        names=row.names,
        max=row.max,
        counted_as=row.counted_as,
        used_on=frozenset(places),
        products=row.products,
        purpose=row.purpose,
        entry=row.entry,
        basis=row.basis,
        source=source,
        weights=_weights(row, substances),
        forbidden_with=row.not_with,
        note=row.condition,
        label_from=row.label_from,
        label=row.label,
    )


def _weights(row: LimitRow, substances: Substances) -> dict[str, float]:
    if row.counted_as == "itself" or row.max is None:
        return {plain(component): 1.0 for component in row.components}
    try:
        return {plain(component): as_acid(component, substances) for component in row.components}
    except RulesError as error:
        raise RulesError(f"{row.id}: {error.detail}") from error
