"""How much one more dough would teach.

One judgement at a point of the window takes from the uncertainty of an aim what the point tells of it: with
the covariance C, a dough x and an aim g (the centre of a recipe, the demand of a powder),
(g'Cx)^2 I / (1 + I x'Cx), where I is the information of the ordinal judgement, averaged over what is not
known of x itself.

References
----------
K. Chaloner, I. Verdinelli, Bayesian experimental design: a review, Statist. Sci. 10 (1995) 273-304.
"""

import math
from collections.abc import Mapping, Sequence
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from advisor.frozen import dataclass
from advisor.learning import Window

Shares = Mapping[str, float]
Direction = NDArray[np.float64]
_NODES = np.linspace(-4.0, 4.0, 33)
_MASSES = np.exp(-0.5 * _NODES**2) / np.exp(-0.5 * _NODES**2).sum()


@dataclass(frozen=True, slots=True)
class Candidate:
    """A dough that could be made: powders and method as shares, and its distance from the centre [ln]."""

    shares: Shares
    distance: float


@dataclass(frozen=True)
class Belief:
    """What is not known of the centre and the powders, as a covariance over named unknowns."""

    keys: tuple[str, ...]
    covariance: NDArray[np.float64]
    thresholds: tuple[float, ...]
    spread: float

    @classmethod
    def of(cls, window: Window, shares: Sequence[Shares]) -> "Belief":
        """Return what a window leaves open about some doughs."""
        new = {key for one in shares for key in one} - set(window.powders)
        sds = window.prior.demand_sds
        more = tuple(sorted(key for key in new if sds.get(key)))
        keys = (*window.powders, *more)
        size = 1 + len(window.powders)
        covariance = np.diag([0.0] * size + [sds[key] ** 2 for key in more])
        covariance[:size, :size] = window.covariance * window.widening**2
        return cls(keys, covariance, window.prior.thresholds, window.prior.spread)

    def direction(self, shares: Shares) -> Direction:
        """Return the centre of a dough's window as a direction of the unknowns."""
        return np.array([1.0, *(shares.get(key, 0.0) for key in self.keys)])

    def demand(self, powder: str) -> Direction:
        """Return what one powder takes up, on ln, as a direction of the unknowns."""
        return np.array([0.0, *(float(key == powder) for key in self.keys)])

    def sd(self, direction: Direction) -> float:
        """Return the standard deviation left in a direction of the unknowns."""
        return math.sqrt(float(direction @ self.covariance @ direction))

    def sds_after(self, candidate: Candidate, aims: Sequence[Direction]) -> list[float]:
        """Return the standard deviations expected in some directions once a dough has been judged."""
        x = self.direction(candidate.shares)
        pulled = self.covariance @ x
        own = float(x @ pulled)
        told = information(
            round(candidate.distance, 6), round(math.sqrt(own), 4), self.thresholds, self.spread
        )
        share = told / (1.0 + told * own)
        after = []
        for g in aims:
            variance = float(g @ self.covariance @ g) - share * float(g @ pulled) ** 2
            after.append(math.sqrt(max(variance, 0.0)))
        return after


@lru_cache(maxsize=4096)
def information(distance: float, sd: float, thresholds: tuple[float, ...], spread: float) -> float:
    """Return the information of one ordinal judgement at an uncertain distance from the centre.

    Parameters
    ----------
    distance, sd : float
        Of ln of the wetting index less the centre, mean and standard deviation [-].
    thresholds : tuple of float
        Borders of the classes [-].
    spread : float
        Scale of the logistic error [-].

    Returns
    -------
    float
        Per unit of squared ln of the wetting index.

    Examples
    --------
    A judgement far from every border tells nothing:

    >>> borders = (-0.035, 0.035)
    >>> information(0.0, 0.0, borders, 0.03) > 100 * information(0.5, 0.0, borders, 0.03)
    True
    """
    eta = distance + sd * _NODES
    inner = 1.0 / (1.0 + np.exp(np.clip((eta[:, None] - np.array(thresholds)) / spread, -500, 500)))
    below = np.pad(inner, ((0, 0), (1, 1)), constant_values=((0.0, 0.0), (0.0, 1.0)))
    scores = (np.diff(below, axis=1) * (1.0 - below[:, 1:] - below[:, :-1]) ** 2).sum(axis=1)
    return float(_MASSES @ scores) / spread**2
