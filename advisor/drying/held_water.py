"""Water that stays in a bar: what its solids and humectants hold, and its water activity."""

import math
from collections.abc import Callable, Mapping

from advisor.rulebook.drying import DryingRules, Isotherm, Norrish

_WETTEST = 0.999
_HALVINGS = 60


def isotherm_water(isotherm: Isotherm, activity: float) -> float:
    """Return grams of water on a gram of dry solid at a water activity (0..1).

    References
    ----------
    Guggenheim-Anderson-de Boer isotherm in the form of the COST 90 project (1983).
    """
    ka = isotherm.k * activity
    return isotherm.m * isotherm.c * ka / ((1 - ka) * (1 - ka + isotherm.c * ka))


def norrish_activity(water_fraction: float, k: float) -> float:
    """Return the water activity of a solution from its mole fraction of water.

    Examples
    --------
    Forty percent glycerol by mass:

    >>> moles_water, moles_glycerol = 60 / 18.015, 40 / 92.09
    >>> round(norrish_activity(moles_water / (moles_water + moles_glycerol), 1.16), 4)
    0.8711

    References
    ----------
    R. S. Norrish, J. Food Technol. 1 (1966) 25-39.
    """
    return water_fraction * math.exp(-k * (1 - water_fraction) ** 2)


def humectant_water(humectant: Norrish, activity: float, water_molar_mass: float) -> float:
    """Return grams of water that a gram of a humectant holds at a water activity (0..1)."""
    fraction = _rising_root(lambda x: norrish_activity(x, humectant.k) - activity, 0.0, 1.0)
    return fraction / (1 - fraction) * water_molar_mass / humectant.molar_mass


def held_water(components: Mapping[str, float], activity: float, rules: DryingRules) -> float:
    """Return the grams of water that known components hold in a room of a relative humidity.

    Parameters
    ----------
    components : mapping
        Grams (or percent) of each component; names in any case.
    activity : float
        Relative humidity as a share, 0..1.
    rules : DryingRules
        Isotherms of fillers and constants of humectants.

    Notes
    -----
    Each component is taken to hold what it would hold alone. Surfactants, salts and soaps hold water too
    and are not counted: an estimate from below.
    """
    air = min(activity, _WETTEST)
    grams = {name.casefold(): amount for name, amount in components.items()}
    total = 0.0
    for solid in rules.isotherm:
        amount = sum(grams.get(name.casefold(), 0.0) for name in solid.components)
        total += amount * isotherm_water(solid, air)
    for humectant in rules.norrish:
        amount = grams.get(humectant.component.casefold(), 0.0)
        if amount:
            total += amount * humectant_water(humectant, air, rules.water.molar_mass)
    return total


def water_activity(components: Mapping[str, float], water: float, rules: DryingRules) -> float:
    """Return the water activity at which known components hold the given water.

    Returns
    -------
    float
        0..1; 1 where there is more water than they take, or where none of them is known.
    """
    if water <= 0:
        return 0.0
    if held_water(components, _WETTEST, rules) <= water:
        return 1.0
    return _rising_root(lambda a: held_water(components, a, rules) - water, 0.0, _WETTEST)


def _rising_root(value: Callable[[float], float], low: float, high: float) -> float:
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        if value(middle) < 0:
            low = middle
        else:
            high = middle
    return (low + high) / 2
