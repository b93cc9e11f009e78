"""The chance of every class at an uncertain distance from the centre."""

import math
from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

Vector = NDArray[np.float64]

_NORMAL_NODES = np.linspace(-6.5, 6.5, 53)
_NORMAL_REACH = 4.0
_NORMAL_MASSES = np.exp(-0.5 * _NORMAL_NODES**2) / np.exp(-0.5 * _NORMAL_NODES**2).sum()
_LOGISTIC_NODES = np.linspace(-24.0, 24.0, 65)
_LOGISTIC_MASSES = np.cosh(_LOGISTIC_NODES / 2) ** -2 / (np.cosh(_LOGISTIC_NODES / 2) ** -2).sum()


def class_chances(
    log_distance: float, sd: float, thresholds: Sequence[float], spread: float
) -> tuple[float, ...]:
    """Return the chance of every class at an uncertain distance from the centre of the window.

    Parameters
    ----------
    log_distance : float
        Mean of ln W less the centre [-].
    sd : float
        Standard deviation of the same, 0 or more [-].
    thresholds : sequence of float
        Borders of the classes, ascending [-].
    spread : float
        Scale of the logistic error, above 0 [-].

    Returns
    -------
    tuple of float
        One chance for each class, driest first; they add up to 1.

    Notes
    -----
    The sum of a normal and a logistic error has no closed form. The one that is not far wider is summed over
    by the trapezoidal rule, which for such smooth functions is exact to about 1e-7.

    Examples
    --------
    >>> [round(chance, 4) for chance in class_chances(0.0, 0.0, (-0.035, 0.035), 0.03)]
    [0.2375, 0.525, 0.2375]
    """
    borders = np.asarray(thresholds) - log_distance
    if sd <= _NORMAL_REACH * spread:
        below = logistic((borders[:, None] - sd * _NORMAL_NODES) / spread) @ _NORMAL_MASSES
    else:
        deviates = (borders[:, None] - spread * _LOGISTIC_NODES) / (sd * math.sqrt(2))
        errors = np.array(list(map(math.erf, deviates.ravel().tolist()))).reshape(deviates.shape)
        below = 0.5 + 0.5 * errors @ _LOGISTIC_MASSES
    ends = [0.0, *(min(max(one, 0.0), 1.0) for one in below.tolist()), 1.0]
    return tuple(high - low for low, high in pairwise(ends))


def logistic(x: Vector) -> Vector:
    """Return the logistic function without overflow."""
    return np.asarray(0.5 + 0.5 * np.tanh(0.5 * x))
