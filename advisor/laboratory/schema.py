"""The calls on pH, strength and titration: requests and answers."""

from typing import Annotated, Literal

from pydantic import Field

from advisor.schema.base import PH, Asked, Basis, Flag, Grams, Key, Percent, Shape
from advisor.schema.drying import Bounds
from advisor.schema.findings import Answer
from advisor.schema.material import Materials, MolarMass
from advisor.schema.recipe import Band, Recipe

Dose = Annotated[float, Field(strict=True, allow_inf_nan=False, gt=0, le=1_000_000)]
DoseUnit = Literal["grams", "millilitres", "drops"]


class DoseRequest(Asked):
    """Two readings around a trial dose, the pH wanted, and the dispersion they were read in [%].

    Where both masses are given the dose is scaled from the dough of the test to the batch. ``material`` names
    the acid or alkali, ``unit`` what the dose is counted in (default grams). ``confirmed`` says that a target
    outside the usual ones is meant. A ``recipe`` lets the dough say what its pH may be.
    """

    first_ph: PH
    dose: Dose
    second_ph: PH
    target_ph: PH
    test_percent: Percent
    test_dough_grams: Grams | None = None
    batch_grams: Grams | None = None
    material: Key | None = None
    unit: DoseUnit | None = None
    confirmed: Flag | None = None
    recipe: Recipe | None = None
    materials: Materials | None = None


class Pour(Shape):
    """What to pour first: how much, of what, and into which dough."""

    amount: float
    unit: DoseUnit
    material: str | None
    into: Literal["test", "batch"]


class DoseAnswer(Answer):
    """The dose still to add, in the unit of the trial dose.

    ``pour_first`` is what goes in before reading again, null where nothing does; ``first_dose`` is
    ``share_to_add_first`` of ``next_dose``; ``reaches_ph`` where the whole leads by the straight line;
    ``batch_dose`` and ``batch_trial_dose`` are what the batch needs, and what the trial dose is for it.
    """

    pour_first: Pour | None
    next_dose: float
    share_to_add_first: float
    first_dose: float
    capped: bool
    state: Literal["add", "passed", "away"]
    reaches_ph: float
    test_percent: float
    batch_dose: float | None
    batch_trial_dose: float | None


class StrengthRequest(Asked):
    """A recipe whose lots are known by ranges; the balance counts where the recipe is in grams."""

    recipe: Recipe
    materials: Materials | None = None
    balance_step: Grams | None = None
    band: Band | None = None


class Contribution(Shape):
    """What one material brings: mean and sd [% of the recipe], share of the variance (0..1)."""

    material: str
    mean: float
    sd: float
    share_of_variance: float


class StrengthAnswer(Answer):
    """Active matter of the batch [% of the recipe] and the chance (0..1) that it lies in the band.

    ``exact`` is false where the chance was drawn instead of reckoned.
    """

    mean: float
    sd: float
    chance_in_band: float
    interval80: Bounds
    band: Band
    exact: bool
    contributions: tuple[Contribution, ...]


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
