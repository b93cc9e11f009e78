"""From shops to a population: the mean and the spread of every powder's demand, by empirical Bayes.

Of shop s the doughs say N(m_s, L_s^-1) of its unknowns, and these are drawn from N(mu, diag(tau^2)). Given
the spreads, the means are those of generalised least squares; the spreads are those of an EM algorithm.

References
----------
A. Dempster, N. Laird, D. Rubin, J. R. Statist. Soc. B 39 (1977) 1-38 (EM).
B. Efron, C. Morris, J. Am. Statist. Ass. 70 (1975) 311-319 (what one learns from the others).
"""

import math
from collections.abc import Sequence

import numpy as np

from advisor.frozen import dataclass, field
from advisor.pooling.shared import Vector

_ROUNDS = 200
_SETTLED = 1e-4
_LEAST_SPREAD = 0.005


@dataclass(frozen=True)
class Shop:
    """What one shop's doughs say: places of its unknowns among all, precision and pull."""

    places: tuple[int, ...]
    precision: Vector
    pull: Vector


@dataclass(frozen=True)
class Population:
    """Mean and spread of every unknown among shops [-], covariance of the means, how many tell of each."""

    mean: Vector
    spread: Vector
    covariance: Vector
    shops: Vector


@dataclass()
class Tally:
    """Sums over shops from which the next population follows; tallies of parts add up."""

    weight: Vector
    pull: Vector
    squares: Vector
    shops: Vector
    refused: list[str] = field(default_factory=list)

    @classmethod
    def empty(cls, size: int) -> "Tally":
        """Return the tally of no shop."""
        return cls(np.zeros((size, size)), np.zeros(size), np.zeros(size), np.zeros(size))

    def add(self, other: "Tally") -> None:
        """Take in the tally of another part."""
        self.weight += other.weight
        self.pull += other.pull
        self.squares += other.squares
        self.shops += other.shops
        self.refused += other.refused

    def population(self, first: Population) -> Population:
        """Return what follows, with the first guess as far as the shops leave it open."""
        hold = first.spread**-2.0
        told = np.ix_(*[np.flatnonzero(self.shops)] * 2)
        covariance = np.diag(first.spread**2)
        covariance[told] = np.linalg.inv((self.weight + np.diag(hold))[told])
        spread = np.sqrt(
            np.where(self.shops > 0, self.squares / np.maximum(self.shops, 1.0), first.spread**2)
        )
        return Population(
            covariance @ (self.pull + hold * first.mean),
            np.maximum(spread, _LEAST_SPREAD),
            0.5 * (covariance + covariance.T),
            self.shops.copy(),
        )


def tally(shops: Sequence[Shop], among: Population) -> Tally:
    """Return the sums over some shops, given what is believed of the population."""
    found = Tally.empty(len(among.mean))
    for size in {len(one.places) for one in shops}:
        alike = [one for one in shops if len(one.places) == size]
        places = np.array([one.places for one in alike])
        precision = np.array([one.precision for one in alike])
        pull = np.array([one.pull for one in alike])
        held = precision.copy()
        own = np.arange(size)
        held[:, own, own] += among.spread[places] ** -2.0
        covariance = np.linalg.inv(held)
        shrunk = precision @ covariance
        weight = precision - shrunk @ precision
        off = pull - np.einsum("sij,sj->si", precision, among.mean[places])
        apart = np.einsum("sij,sj->si", covariance, off)
        np.add.at(found.weight, (places[:, :, None], places[:, None, :]), weight)
        np.add.at(found.pull, places, pull - np.einsum("sij,sj->si", shrunk, pull))
        np.add.at(found.squares, places, covariance[:, own, own] + apart**2)
        np.add.at(found.shops, places, 1.0)
    return found


def fitted(shops: Sequence[Shop], first: Population) -> Population:
    """Return the population of some shops, from a first guess on, once it has settled."""
    among = first
    for _ in range(_ROUNDS):
        after = tally(shops, among).population(first)
        moved = float(np.max(np.abs(np.log(after.spread / among.spread)), initial=0.0))
        among = after
        if moved < _SETTLED:
            break
    return among


def surprise(shop: Shop, among: Population) -> float:
    """Return how far a shop lies from the population, in standard deviations of a normal figure.

    The squared distance of what its doughs say is chi-squared with as many degrees as they tell of; its cube
    root is nearly normal (Wilson and Hilferty).
    """
    places = list(shop.places)
    precision = shop.precision
    off = shop.pull - precision @ among.mean[places]
    scatter = precision + precision @ (among.spread[places, None] ** 2 * precision)
    values, axes = np.linalg.eigh(scatter)
    told = values > 1e-9 * max(float(values[-1]), 1e-300)
    degrees = int(told.sum())
    if not degrees:
        return 0.0
    distance = float((((axes.T @ off)[told] ** 2) / values[told]).sum())
    spread = 2.0 / (9.0 * degrees)
    return float(((distance / degrees) ** (1 / 3) - (1.0 - spread)) / math.sqrt(spread))
