"""The two-phase titration of anionic active matter (ISO 2271)."""


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
