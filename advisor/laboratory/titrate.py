"""The titration task: the active matter of a lot from a laboratory's two-phase titration (ISO 2271)."""

from collections.abc import Mapping
from typing import Any

from advisor.errors import Fault, InvalidRequest
from advisor.laboratory.schema import TitrationAnswer, TitrationRequest
from advisor.recipe.notebook import Notebook
from advisor.recipe.request import KnownMaterials, opened
from advisor.rulebook.load import Rulebook
from advisor.schema.findings import Caution, TextItem


def titrated_active(
    volume_ml: float,
    concentration_mol_per_l: float,
    molar_mass: float,
    sample_grams: float,
    made_to_ml: float = 1000.0,
    aliquot_ml: float = 25.0,
) -> float:
    """Return the active matter of a sample as supplied [%].

    Parameters
    ----------
    volume_ml : float
        Titrant used [ml].
    concentration_mol_per_l : float
        Cationic titrant [mol/l].
    molar_mass : float
        Mean molar mass of the active matter [g/mol].
    sample_grams : float
        Sample weighed [g].
    made_to_ml, aliquot_ml : float
        Volume of the solution and what of it was titrated [ml].

    Notes
    -----
    For a laboratory: the method works with chloroform. Soap is not counted in acid medium.

    Examples
    --------
    >>> round(titrated_active(20.0, 0.00400, 288.38, 1.000), 2)
    92.28

    References
    ----------
    ISO 2271:1989, Surface active agents, detergents: determination of anionic-active matter by manual or
    mechanical direct two-phase titration procedure.
    """
    moles = volume_ml / 1000 * concentration_mol_per_l * made_to_ml / aliquot_ml
    return 100 * moles * molar_mass / sample_grams


def titrate(
    request: TitrationRequest | Mapping[str, Any],
    *,
    rulebook: Rulebook | None = None,
    notebook: Notebook | None = None,
) -> TitrationAnswer:
    """Return the active matter of a lot as supplied [%] from a two-phase titration (ISO 2271).

    Parameters
    ----------
    request : TitrationRequest or mapping
        Titrant, sample, dilution, and the molar mass or a material that has one.
    rulebook : Rulebook, optional
        Default: the packaged one.
    notebook : Notebook, optional
        What the shop knows besides: its own materials, doughs and measured demands.

    Raises
    ------
    InvalidRequest
        A field is wrong, no molar mass is known, or the sum gives more than 100 %.
    UnknownMaterial

    Examples
    --------
    >>> read = {"volume_ml": 20.0, "concentration_mol_per_l": 0.004, "sample_grams": 1.0}
    >>> titrate({**read, "molar_mass": 288.38}).active
    92.28
    """
    wanted, known = opened(TitrationRequest, request, rulebook, notebook)
    rules = known.rulebook
    molar_mass = _molar_mass(wanted, known)
    active = titrated_active(
        wanted.volume_ml,
        wanted.concentration_mol_per_l,
        molar_mass,
        wanted.sample_grams,
        wanted.made_to_ml,
        wanted.aliquot_ml,
    )
    if active > 100:
        problem = f"gives {active:.1f} % active matter, more than there is"
        raise InvalidRequest(
            f"The titration {problem}: check volume, concentration, sample and dilution.",
            [Fault("/volume_ml", problem, "check volume, concentration, sample and dilution")],
        )
    return TitrationAnswer(
        active=round(active, 2),
        molar_mass=molar_mass,
        basis="own",
        source=rules.strength.text["titration_source"],
        cautions=(Caution(id="laboratory", text=rules.strength.text["laboratory"], standing=True),),
        notes=(TextItem(id="titration", text=rules.strength.text["titration"]),),
        rules_version=rules.edition,
    )


def _molar_mass(wanted: TitrationRequest, known: KnownMaterials) -> float:
    if wanted.molar_mass is not None:
        return wanted.molar_mass
    if wanted.material is None:
        raise InvalidRequest(
            "No molar mass is known.",
            [Fault("/molar_mass", "is missing", "give molar_mass, or a material that has one")],
        )
    found = known.all([(wanted.material, "/material")])[wanted.material].material.molar_mass
    if found is None:
        raise InvalidRequest(
            f"The material {wanted.material!r} has no molar mass.",
            [Fault("/material", "has no molar mass", "give molar_mass")],
        )
    return found
