"""The titration call: request and answer."""

from typing import Annotated

from pydantic import Field

from advisor.schema.base import Asked, Basis, Key
from advisor.schema.findings import Answer
from advisor.schema.material import Materials, MolarMass

Positive = Annotated[float, Field(strict=True, allow_inf_nan=False, gt=0, le=1_000_000)]


class TitrationRequest(Asked):
    """A two-phase titration of a lot: titrant [ml, mol/l], sample [g], solution and aliquot [ml].

    The molar mass of the active matter [g/mol] is given, or taken from ``material``.
    """

    volume_ml: Positive
    concentration_mol_per_l: Positive
    sample_grams: Positive
    made_to_ml: Positive = 1000.0
    aliquot_ml: Positive = 25.0
    molar_mass: MolarMass | None = None
    material: Key | None = None
    materials: Materials | None = None


class TitrationAnswer(Answer):
    """Active matter of the lot as supplied [%], with the molar mass it was reckoned with [g/mol]."""

    active: float
    molar_mass: float
    basis: Basis
    source: str
