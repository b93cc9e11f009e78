"""Invented makers: a usual blend, where it is workable at each dough, and what their hands say of it."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.stats import logistic, t

from advisor.learning import Dough
from advisor.rulebook.load import load_rulebook

BOOK = load_rulebook()
CLASSES = BOOK.dough.classes
WORKABLE = CLASSES.names.index("workable")
LAST_DOUGH = 30
FIRST_SEED = 100_000
DOUGHS_A_YEAR = 40
POWDERS = ("isethionate-powder", "kaolin", "rice-flour", "corn-starch")
_HEAVY = t(3)
_ALIKE = float(logistic.ppf(0.75) / _HEAVY.ppf(0.75))


@dataclass(frozen=True)
class World:
    """How makers of one world differ from what the rules believe.

    ``shift`` is where their centres lie on ln of the wetting index; ``drift`` the standard deviation of its
    change from dough to dough, ``season`` how far it swings with the seasons, ``jump`` the standard deviation of
    one change at a dough nobody names; ``slips`` the share of
    reports that are any word at all; ``words`` a factor on the borders of the classes; ``heavy`` draws
    centres, demands and the errors of judgements with the tails of Student's t of 3 degrees; ``noise`` is
    the scale of those errors as a factor on the rules'.
    """

    name: str
    shift: float = 0.0
    drift: float = 0.0
    season: float = 0.0
    jump: float = 0.0
    slips: float = 0.0
    words: float = 1.0
    heavy: bool = False
    noise: float = 1.0


WORLDS = (
    World("as believed"),
    World("slow drift", drift=0.005, season=0.12),
    World("two lots", jump=0.10),
    World("a report in ten wrong", slips=0.1),
    World("wide words", words=1.6),
    World("narrow words", words=0.6),
    World("heavy tails", heavy=True),
    World("shifted centre", shift=0.3),
)
NOISELESS = World("without noise", noise=0.0)


@dataclass(frozen=True)
class Maker:
    """One maker of a world; everything that chance decides is drawn before the first dough."""

    world: World
    seed: int
    shares: Mapping[str, float]
    unknowns: NDArray[np.float64]
    centres: NDArray[np.float64]
    errors: NDArray[np.float64]
    slips: NDArray[np.intp]

    @classmethod
    def of(cls, world: World, seed: int) -> "Maker":
        """Return a maker; the same seed draws alike in every world."""
        rng = np.random.default_rng([43, seed])
        blend = rng.dirichlet((9, 2, 1.5, 1.5))
        drawn = _HEAVY.rvs(5, random_state=rng) if world.heavy else rng.normal(size=5)
        sds = np.array([BOOK.dough.prior.centre_sd, *(BOOK.ingredients[key].uptake_sd for key in POWDERS)])
        unknowns = drawn * sds + world.shift * np.eye(5)[0]
        start = float(np.array([1.0, *blend]) @ unknowns)
        count = LAST_DOUGH + 1
        days = np.arange(count)
        path = np.cumsum(rng.normal(size=count) * world.drift)
        path += world.season * np.sin(2 * np.pi * (days / DOUGHS_A_YEAR + rng.random()))
        path += float(rng.normal()) * world.jump * (days >= rng.integers(3, 21))
        errors = _ALIKE * _HEAVY.rvs(count, random_state=rng) if world.heavy else rng.logistic(size=count)
        any_word = rng.integers(1, len(CLASSES.thresholds) + 2, count)
        slips = np.where(rng.random(count) < world.slips, any_word, 0)
        shares = dict(zip(POWDERS, blend.tolist(), strict=True))
        errors *= CLASSES.spread * world.noise
        return cls(world, seed, shares, unknowns, start + path, errors, slips)

    def dough(self, place: int) -> Dough:
        """Return a dough of another blend near the usual one, made about where it is workable, with its report."""
        rng = np.random.default_rng([47, self.seed, place])
        usual = np.array(list(self.shares.values()))
        blend, off = rng.dirichlet(30 * usual + 0.2), float(rng.normal(0.0, 0.08))
        apart = float((blend - usual) @ self.unknowns[1:])
        index = float(self.centres[place]) + apart + off
        shares = dict(zip(POWDERS, blend.tolist(), strict=True))
        return Dough(index, shares, self.report(place, index - apart))

    def report(self, place: int, log_index: float) -> int:
        """Return the class this maker calls a dough of this wetness."""
        felt = log_index - self.centres[place] + self.errors[place]
        borders = self.world.words * np.array(CLASSES.thresholds)
        return int(self.slips[place]) or int(np.searchsorted(borders, felt)) + 1

    def chance(self, place: int, log_index: float) -> float:
        """Return how likely a dough of this wetness is workable in these hands, slips of the tongue aside."""
        low, high = (self.world.words * border for border in CLASSES.thresholds[WORKABLE - 1 : WORKABLE + 1])
        off, scale = log_index - self.centres[place], CLASSES.spread * self.world.noise
        if scale == 0.0:
            return float(low <= off <= high)
        law, scale = (_HEAVY, _ALIKE * scale) if self.world.heavy else (logistic, scale)
        return float(law.cdf((high - off) / scale) - law.cdf((low - off) / scale))


def makers(world: World, count: int) -> list[Maker]:
    """Return makers of a world; the figures in ``rules/dough.toml`` were chosen with others, of other seeds."""
    return [Maker.of(world, seed) for seed in range(FIRST_SEED, FIRST_SEED + count)]


def other_makers(world: World, count: int) -> list[Maker]:
    """Return makers of a world who are none of those whose doughs are counted."""
    return [Maker.of(world, seed) for seed in range(count)]
