"""The shape of rules/substances.toml: molar masses, acids of salts, dissociation constants."""

from collections.abc import Mapping
from typing import Annotated, Self

from pydantic import Field, model_validator

from advisor.errors import RulesError
from advisor.rulebook.table import Number, Positive, Source, Sourced, Table
from advisor.schema.base import Basis, Name


class Substance(Table):
    """A component by its INCI name.

    Molar masses in g/mol; ``acid`` is the name of the acid a salt or an ester counts as and ``acid_count``
    how many acids one formula unit holds; ``pka`` at 25 degrees Celsius, in order. ``basis`` and ``source``
    stand where they are not those of the file.
    """

    name: Name
    formula: str | None = None
    molar_mass: Positive | None = None
    acid: Name | None = None
    acid_count: Annotated[int, Field(strict=True, ge=1)] = 1
    pka: tuple[Number, ...] = ()
    pka_basis: Basis | None = None
    pka_source: Source | None = None
    formaldehyde: bool = False
    basis: Basis | None = None
    source: Source | None = None

    @model_validator(mode="after")
    def _constants_have_evidence(self) -> Self:
        if self.pka and not (self.pka_basis and self.pka_source):
            raise ValueError("pka needs pka_basis and pka_source")
        return self


Substances = Mapping[str, Substance]


class SubstancesFile(Sourced):
    """rules/substances.toml."""

    substance: tuple[Substance, ...]

    @model_validator(mode="after")
    def _acids_stand_in_the_table(self) -> Self:
        names = self.by_name()
        if len(names) < len(self.substance):
            twice = next(one for one in self.substance if names[one.name.casefold()] is not one)
            raise ValueError(f"{twice.name} stands twice")
        for substance in self.substance:
            if substance.acid is not None and substance.acid.casefold() not in names:
                raise ValueError(f"{substance.name}: its acid {substance.acid} is not in the table")
        return self

    def by_name(self) -> dict[str, Substance]:
        """Return each substance by its case-folded name."""
        return {substance.name.casefold(): substance for substance in self.substance}


def as_acid(name: str, substances: Substances) -> float:
    """Return how much free acid one part by mass of a component stands for.

    Raises
    ------
    RulesError
        The component or its acid has no molar mass in the table.

    Examples
    --------
    >>> sorbates = {"sorbic acid": Substance(name="Sorbic Acid", molar_mass=112.13),
    ...     "potassium sorbate": Substance(name="Potassium Sorbate", molar_mass=150.22, acid="Sorbic Acid")}
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
