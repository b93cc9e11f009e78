"""What is believed after the doughs."""

import math
from collections.abc import Mapping
from functools import lru_cache
from statistics import NormalDist

import numpy as np

from advisor.frozen import cached_property, dataclass, field
from advisor.learning.belief import Prior
from advisor.learning.chances import Vector, class_chances
from advisor.learning.evidence import Evidence

_NARROW = 1e-12


@lru_cache(maxsize=1024)
def _at_centre(thresholds: tuple[float, ...], width: float, spread: float) -> float:
    borders = [width * border for border in thresholds]
    return class_chances(0.0, 0.0, borders, spread)[len(borders) // 2]


@dataclass(frozen=True, eq=False)
class Window:
    """What is believed after the doughs.

    Parameters
    ----------
    prior : Prior
        What was believed before.
    powders : tuple of str
        Powders whose demand some dough speaks of, sorted.
    mean : array
        The mean over habits of the mode: c, then delta of each powder [-].
    covariance : array
        Covariance of the same, that among habits included; not widened.
    means, covariances : array
        For every habit of the prior the mode and its Laplace covariance.
    support : mapping of str to int
        How many doughs carry each powder.
    objective : float
        Minus the log posterior at the mode, without the constants of the normal densities.
    dispersion : float
        Scatter of the obeyed doughs over what the model expects, per residual degree of freedom; 1 where it
        was not told [-].
    widening : float
        Factor on the standard deviation of what was learned, 1 or the square root of the dispersion [-]; 1
        where a drift or slips are believed, which widen it themselves.
    contradicted : bool
        Whether the doughs scatter more than chance explains if the window is at rest and no report a slip.
    outliers : tuple of int
        Places, in the sequence given, of the doughs that fit ill to the rest.
    set_aside : bool
        Whether the outliers were left out of the fit; if not, they were too many to be accidents.
    evidence, obeyed : optional
        The doughs it rests on, outliers among them, and the mode if all were obeyed: ``learn_more`` goes on
        from there.
    """

    prior: Prior
    powders: tuple[str, ...]
    mean: Vector
    covariance: Vector
    means: Vector
    covariances: Vector
    support: Mapping[str, int]
    objective: float
    dispersion: float = 1.0
    widening: float = 1.0
    contradicted: bool = False
    outliers: tuple[int, ...] = ()
    set_aside: bool = False
    evidence: Evidence | None = field(default=None, repr=False)
    obeyed: Vector | None = field(default=None, repr=False)

    def centre(self, shares: Mapping[str, float]) -> tuple[float, float]:
        """Return where a dough with these powders is workable.

        Parameters
        ----------
        shares : mapping of str to float
            Share of each powder in the demand for liquid [-]. A powder no dough carried has its prior.

        Returns
        -------
        mean, sd : float
            Of ln W at the centre of the window [-]. However much the doughs contradict each other, the
            standard deviation is never above what it was before them.

        Examples
        --------
        >>> from advisor.learning import Dough, Prior, learn
        >>> prior = Prior(thresholds=(-0.035, 0.035), spread=0.03, centre_sd=0.2, demand_sds={"starch": 0.3})
        >>> learn([], prior).centre({"starch": 0.5})
        (0.0, 0.25)
        """
        learned = np.array([1.0, *(shares.get(powder, 0.0) for powder in self.powders)])
        more, unsure = self._not_carried(shares)
        variance = min(self.widening**2 * float(learned @ self.covariance @ learned), self._before(learned))
        return float(learned @ self.mean) + more, math.sqrt(variance + unsure)

    def best_chance(self, width: float = 1.0) -> float:
        """Return how likely a dough at the very centre of the window is called workable, 0..1 [-].

        Parameters
        ----------
        width : float
            Factor on the borders of the classes [-].

        Examples
        --------
        >>> from advisor.learning import Dough, Prior, learn
        >>> prior = Prior(thresholds=(-0.035, 0.035), spread=0.03, centre_sd=0.2, demand_sds={})
        >>> round(learn([], prior).best_chance(), 3)
        0.525
        """
        return sum(
            one.chance * _at_centre(self.prior.thresholds, width * one.words, self.prior.spread)
            for one in self.prior.habits
        )

    def interval(self, shares: Mapping[str, float], level: float) -> tuple[float, float]:
        """Return the central interval of ln W at the centre of the window.

        Parameters
        ----------
        shares : mapping of str to float
            Share of each powder in the demand for liquid [-].
        level : float
            Chance that the centre is inside, above 0 and below 1 [-].

        Returns
        -------
        low, high : float
            On ln W [-].

        Examples
        --------
        >>> from advisor.learning import Dough, Prior, learn
        >>> prior = Prior(thresholds=(-0.035, 0.035), spread=0.03, centre_sd=0.2, demand_sds={})
        >>> [round(end, 4) for end in learn([], prior).interval({}, 0.8)]
        [-0.2563, 0.2563]
        """
        return self.quantile(shares, (1 - level) / 2), self.quantile(shares, (1 + level) / 2)

    def quantile(self, shares: Mapping[str, float], below: float, *, heeded: bool = False) -> float:
        """Return the ln W that the centre of the window is below with a given chance.

        Parameters
        ----------
        shares : mapping of str to float
            Share of each powder in the demand for liquid [-].
        below : float
            That chance, above 0 and below 1 [-]; at 0.5 the median.
        heeded : bool
            Whether every habit counts as it is heeded where a dough is aimed, or by its chance alone.

        Returns
        -------
        float
            On ln W [-].

        Examples
        --------
        >>> from advisor.learning import Dough, Prior, learn
        >>> prior = Prior(thresholds=(-0.035, 0.035), spread=0.03, centre_sd=0.2, demand_sds={})
        >>> round(learn([], prior).quantile({}, 0.9), 4)
        0.2563
        """
        centres = [NormalDist(*one) for one in self._centres(shares).tolist()]
        weights = [one.chance * (one.heeded if heeded else 1.0) for one in self.prior.habits]
        ends = [one.inv_cdf(below) for one in centres]
        low, high, sought = min(ends), max(ends), below * sum(weights)
        while high - low > _NARROW:
            middle = 0.5 * (low + high)
            found = sum(weight * one.cdf(middle) for weight, one in zip(weights, centres, strict=True))
            low, high = (middle, high) if found < sought else (low, middle)
        return 0.5 * (low + high)

    def demand(self, powder: str) -> tuple[float, float]:
        """Return mean and standard deviation of ln(demand of a powder / library's demand).

        Examples
        --------
        >>> from advisor.learning import Dough, Prior, learn
        >>> prior = Prior(thresholds=(-0.035, 0.035), spread=0.03, centre_sd=0.2, demand_sds={"starch": 0.3})
        >>> learn([], prior).demand("starch")
        (0.0, 0.3)
        """
        if powder not in self.support:
            return self.prior.demand_means.get(powder, 0.0), self.prior.demand_sds.get(powder, 0.0)
        place = 1 + self.powders.index(powder)
        learned = self.widening * math.sqrt(self.covariance[place, place])
        return float(self.mean[place]), min(learned, self.prior.demand_sds[powder])

    def taught(self, shares: Mapping[str, float]) -> float:
        """Return how much of what was unsure of the centre the doughs took away, 0 (nothing) to 1 [-].

        Parameters
        ----------
        shares : mapping of str to float
            Share of each powder in the demand for liquid [-].

        Examples
        --------
        >>> from advisor.learning import Dough, Prior, learn
        >>> prior = Prior(thresholds=(-0.035, 0.035), spread=0.03, centre_sd=0.2, demand_sds={"starch": 0.3})
        >>> window = learn([Dough(0.1, {}, 2)], prior)
        >>> round(window.taught({}), 2), round(window.taught({"starch": 1.0}), 2)
        (0.94, 0.29)
        """
        powders = sum((share * self.prior.demand_sds.get(key, 0.0)) ** 2 for key, share in shares.items())
        return 1.0 - self.centre(shares)[1] ** 2 / (self.prior.centre_sd**2 + powders)

    def _centres(self, shares: Mapping[str, float]) -> Vector:
        """Return for every habit mean and standard deviation of ln W at the centre, one row each."""
        learned = np.array([1.0, *(shares.get(powder, 0.0) for powder in self.powders)])
        more, unsure = self._not_carried(shares)
        variances = np.minimum(
            self.widening**2 * (self.covariances @ learned) @ learned, self._before(learned)
        )
        return np.array((self.means @ learned + more, np.sqrt(variances + unsure))).T

    def _before(self, direction: Vector) -> float:
        """Return the variance before any dough in a direction of the unknowns."""
        return float(((direction * self._sds) ** 2).sum())

    @cached_property
    def _sds(self) -> Vector:
        """The standard deviations of the unknowns before any dough."""
        return np.array([self.prior.centre_sd, *(self.prior.demand_sds[powder] for powder in self.powders)])

    def _not_carried(self, shares: Mapping[str, float]) -> tuple[float, float]:
        """Return what powders that no dough carried add to the mean and to the variance of the centre."""
        new = {powder: share for powder, share in shares.items() if powder not in self.support}
        means, sds = self.prior.demand_means, self.prior.demand_sds
        more = sum(share * means.get(powder, 0.0) for powder, share in new.items())
        return more, sum((share * sds.get(powder, 0.0)) ** 2 for powder, share in new.items())

    def _over_habits(self, distances: Vector, width: float) -> tuple[float, ...]:
        """Return the chance of every class at uncertain distances, one row of mean and deviation a habit."""
        each = [
            class_chances(
                mean, sd, [habit.words * width * one for one in self.prior.thresholds], self.prior.spread
            )
            for habit, (mean, sd) in zip(self.prior.habits, distances.tolist(), strict=True)
        ]
        return tuple((np.array([one.chance for one in self.prior.habits]) @ each).tolist())

    def chances(self, log_index: float, shares: Mapping[str, float], width: float = 1.0) -> tuple[float, ...]:
        """Return the chance of every class for one more dough, what is not known of the window included.

        Parameters
        ----------
        log_index : float
            ln W of the dough, with the library's uptakes [-].
        shares : mapping of str to float
            Share of each powder in the demand for liquid [-].
        width : float
            Factor on the borders of the classes [-].

        Returns
        -------
        tuple of float
            One chance for each class, driest first; they add up to 1.

        Examples
        --------
        >>> from advisor.learning import Dough, Prior, learn
        >>> prior = Prior(thresholds=(-0.035, 0.035), spread=0.03, centre_sd=0.2, demand_sds={})
        >>> [round(chance, 3) for chance in learn([], prior).chances(0.0, {})]
        [0.433, 0.134, 0.433]
        """
        return self._over_habits(self._centres(shares) * (-1.0, 1.0) + (log_index, 0.0), width)
