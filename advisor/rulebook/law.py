"""What a market's law says of a recipe: limits, conditions, materials without maximum."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any, Literal

from advisor.errors import RulesError
from advisor.rulebook.reading import distinct, entries, known, names, number, text

CountedAs = Literal["itself", "acid"]
Composition = Mapping[str, float]


@dataclass(frozen=True, slots=True)
class Substance:
    """A component by its INCI name.

    Molar masses in g/mol; ``acid`` is the name of the acid a salt or an ester counts as and ``acid_count``
    how many acids one formula unit holds; ``pka`` at 25 degrees Celsius, in order.
    """

    name: str
    basis: str
    source: str
    molar_mass: float | None = None
    acid: str | None = None
    acid_count: int = 1
    pka: tuple[float, ...] = ()
    pka_basis: str = ""
    pka_source: str = ""
    formaldehyde: bool = False


Substances = Mapping[str, Substance]


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
    """What the law asks besides a percent; without components it concerns every product.

    ``from_percent`` is the sum of the components from which it applies [%].
    """

    id: str
    components: tuple[str, ...]
    text: str
    entry: str
    basis: str
    source: str
    from_percent: float = 0.0
    ph_min: float | None = None
    ph_max: float | None = None


@dataclass(frozen=True, slots=True)
class NoMaximum:
    """A material the market sets no maximum for: no verdict on preservation may rest on it."""

    id: str
    name: str
    components: tuple[str, ...]


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


def read_substances(table: Mapping[str, Any], file: str = "substances.toml") -> dict[str, Substance]:
    """Read the table of substances into a dict by case-folded name.

    Parameters
    ----------
    table : mapping
        The parsed file: ``basis``, ``source`` and a list ``substance``.
    file : str
        The name of the file, for messages.

    Raises
    ------
    RulesError
        A field is missing, unknown or wrong, a name stands twice, or an acid is not in the table.

    Examples
    --------
    >>> table = {"basis": "published", "source": "by formula", "substance": [
    ...     {"name": "Sorbic Acid", "molar_mass": 112.13},
    ...     {"name": "Potassium Sorbate", "molar_mass": 150.22, "acid": "Sorbic Acid"}]}
    >>> read_substances(table)["potassium sorbate"].acid
    'Sorbic Acid'
    """
    basis, source = text(table, "basis", file, "the head"), text(table, "source", file, "the head")
    substances: dict[str, Substance] = {}
    for entry in entries(table, "substance", file):
        name = text(entry, "name", file, "a substance")
        known(
            entry,
            "name acid acid_count formula molar_mass pka pka_basis pka_source formaldehyde basis source",
            file,
            name,
        )
        if name.casefold() in substances:
            raise RulesError(f"{file}: {name} stands twice")
        if entry.get("pka") and not (entry.get("pka_basis") and entry.get("pka_source")):
            raise RulesError(f"{file}: {name}: pka needs pka_basis and pka_source")
        molar_mass = entry.get("molar_mass")
        if molar_mass is not None:
            molar_mass = number(entry, "molar_mass", file, name)
        substances[name.casefold()] = Substance(
            name=name,
            basis=entry.get("basis", basis),
            source=entry.get("source", source),
            molar_mass=molar_mass,
            acid=entry.get("acid"),
            acid_count=int(entry.get("acid_count", 1)),
            pka=tuple(float(value) for value in entry.get("pka", ())),
            pka_basis=entry.get("pka_basis", ""),
            pka_source=entry.get("pka_source", ""),
            formaldehyde=bool(entry.get("formaldehyde", False)),
        )
    for substance in substances.values():
        if substance.acid is not None and substance.acid.casefold() not in substances:
            raise RulesError(f"{file}: {substance.name}: its acid {substance.acid} is not in the table")
    return substances


def as_acid(name: str, substances: Substances) -> float:
    """Return how much free acid one part by mass of a component stands for.

    Raises
    ------
    RulesError
        The component or its acid has no molar mass in the table.

    Examples
    --------
    >>> sorbates = {"sorbic acid": Substance("Sorbic Acid", "published", "", 112.13),
    ...     "potassium sorbate": Substance("Potassium Sorbate", "published", "", 150.22, "Sorbic Acid")}
    >>> round(as_acid("Potassium Sorbate", sorbates), 4)
    0.7464
    """
    substance = substances.get(name.casefold())
    if substance is None:
        raise RulesError(f"{name} is counted as acid but is not in the table of substances")
    if substance.acid is None:
        return 1.0
    acid = substances[substance.acid.casefold()]
    if substance.molar_mass is None or acid.molar_mass is None:
        raise RulesError(f"{name} is counted as acid but a molar mass is missing")
    return substance.acid_count * acid.molar_mass / substance.molar_mass


def read_law(table: Mapping[str, Any], substances: Substances, file: str = "") -> LawBook:
    """Read the limits of one market.

    Parameters
    ----------
    table : mapping
        The parsed file of a market.
    substances : mapping
        What ``read_substances`` gives.
    file : str
        The name of the file, for messages; the market's name by default.

    Raises
    ------
    RulesError
        A field is missing, unknown or wrong; the message names file and entry.

    Examples
    --------
    >>> table = {"market": "eu", "title": "European Union", "text_of": "31 October 2025",
    ...     "source": "Annexes", "caveat": "Check the text in force.", "limit": [
    ...     {"id": "phenoxyethanol", "name": "phenoxyethanol", "components": ["Phenoxyethanol"],
    ...      "max": 1.0, "as": "itself", "entry": "Annex V, 29", "basis": "published"}]}
    >>> read_law(table, {}).limits[0].source
    'Annexes, Annex V, 29 (text of 31 October 2025)'
    """
    where = file or f"{table.get('market', 'limits')}.toml"
    known(table, "market title text_of source caveat limit condition no_maximum", where, "the head")
    market, title, text_of, source, caveat = (
        text(table, field, where, "the head") for field in ("market", "title", "text_of", "source", "caveat")
    )

    def cited(entry: Mapping[str, Any], name: str) -> str:
        return f"{source}, {text(entry, 'entry', where, name)} (text of {text_of})"

    limits = []
    for entry in entries(table, "limit", where):
        name = text(entry, "id", where, "a limit")
        known(entry, "id name components max as entry basis forbidden_with note", where, name)
        components = names(entry, "components", where, name)
        counted_as = _counted_as(entry, where, name)
        try:
            weights = {
                component.casefold(): as_acid(component, substances) if counted_as == "acid" else 1.0
                for component in components
            }
        except RulesError as error:
            raise RulesError(f"{where}: {name}: {error.detail}") from error
        limits.append(
            Limit(
                id=name,
                name=text(entry, "name", where, name),
                components=components,
                max=number(entry, "max", where, name),
                counted_as=counted_as,
                entry=text(entry, "entry", where, name),
                basis=text(entry, "basis", where, name),
                source=cited(entry, name),
                weights=weights,
                forbidden_with=tuple(entry.get("forbidden_with", ())),
                note=entry.get("note", ""),
            )
        )
    distinct([limit.id for limit in limits], where)
    ids = [limit.id for limit in limits]
    for limit in limits:
        for other in limit.forbidden_with:
            if other not in ids:
                raise RulesError(f"{where}: {limit.id}: forbidden_with names {other}, which is no limit")

    conditions = []
    for entry in entries(table, "condition", where):
        name = text(entry, "id", where, "a condition")
        known(entry, "id components text entry basis from_percent ph_min ph_max", where, name)
        conditions.append(
            Condition(
                id=name,
                components=tuple(entry.get("components", ())),
                text=text(entry, "text", where, name),
                entry=text(entry, "entry", where, name),
                basis=text(entry, "basis", where, name),
                source=cited(entry, name),
                from_percent=float(entry.get("from_percent", 0.0)),
                ph_min=entry.get("ph_min"),
                ph_max=entry.get("ph_max"),
            )
        )
    distinct([condition.id for condition in conditions], where)

    unlimited = []
    for entry in entries(table, "no_maximum", where):
        name = text(entry, "id", where, "a material without maximum")
        known(entry, "id name components", where, name)
        unlimited.append(
            NoMaximum(name, text(entry, "name", where, name), names(entry, "components", where, name))
        )
    return LawBook(market, title, text_of, source, caveat, tuple(limits), tuple(conditions), tuple(unlimited))


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


def _counted_as(entry: Mapping[str, Any], file: str, name: str) -> CountedAs:
    value = entry.get("as")
    if value == "itself":
        return "itself"
    if value == "acid":
        return "acid"
    raise RulesError(f'{file}: {name}: as must be "itself" or "acid"')
