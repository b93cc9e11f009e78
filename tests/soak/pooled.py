"""Pool what invented shops learned, and see what a new shop's first dough has of it.

The makers of a population have centres of their own around its mean; a powder is the same powder in every shop. The
means are drawn as the rules believe of them, in equal shares of what they come to in a usual blend.

Usage: python -m tests.soak.pooled [--shops 500] [--populations 8] [--spreads 0.20 0.10 0.05]. Ends with 1 where the
first dough of a new shop is workable less than 0.9 times as often as for whoever knows the population, or pooled to
cold is below its bound.
"""

import argparse
import sys
import tempfile
from pathlib import Path
from statistics import NormalDist

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from advisor.learning import class_chances
from advisor.pooling.pool import pool
from advisor.pooling.shared import CENTRE, share_evidence
from tests.pooling.test_pool import BOOK, POWDERS, file_of, shop

_NEW_SHOPS = 2000
_LEAST = 0.9
_REACH = 1.2816
_USUAL = np.array([1.0, 1 / 2, 1 / 6, 1 / 6, 1 / 6])
_TIMES_COLD = {0.20: 1.3, 0.10: 2.3, 0.05: 3.6}


def first_dough(off: np.ndarray) -> float:
    """Return the mean chance that doughs off by this much are workable."""
    borders, spread = BOOK.dough.classes.thresholds, BOOK.dough.classes.spread
    return float(np.mean([class_chances(one, 0.0, borders, spread)[len(borders) // 2] for one in off]))


def drawn(rng: np.random.Generator, place: int, populations: int) -> np.ndarray:
    """Return the mean of a population: one of so many equally likely parts of what the rules believe."""
    sds = np.array([BOOK.dough.prior.centre_sd, *(BOOK.ingredients[key].uptake_sd for key in POWDERS)])
    along = _USUAL * sds / np.linalg.norm(_USUAL * sds)
    found = rng.normal(size=len(sds))
    return sds * (found + along * (NormalDist().inv_cdf((place + 0.5) / populations) - along @ found))


def main() -> int:
    """Pool for every spread of the makers' centres, print, and judge."""
    asked = argparse.ArgumentParser()
    asked.add_argument("--shops", type=int, default=500)
    asked.add_argument("--populations", type=int, default=8)
    asked.add_argument("--spreads", type=float, nargs="+", default=list(_TIMES_COLD))
    options = asked.parse_args()
    inside: list[bool] = []
    fallen = False
    for centre in options.spreads:
        chances, learned, refused = [], [], 0
        for population in range(options.populations):
            rng = np.random.default_rng([97, population])
            mean, spread = drawn(rng, population, options.populations), np.array([centre, 0.0, 0.0, 0.0, 0.0])
            with tempfile.TemporaryDirectory() as folder:
                files = [
                    file_of(Path(folder), seed, share_evidence(shop(seed, mean, spread)[0], BOOK.edition))
                    for seed in range(1000 * population, 1000 * population + options.shops)
                ]
                pooled = pool(files, BOOK)
            at = [pooled.keys.index(key) for key in (CENTRE, *POWDERS)]
            found, covariance = pooled.population.mean[at], pooled.population.covariance[np.ix_(at, at)]
            usual = np.column_stack((np.ones(_NEW_SHOPS), rng.dirichlet((6, 2, 2, 2), _NEW_SHOPS)))
            true = (usual * (mean + spread * rng.normal(size=usual.shape))).sum(axis=1)
            chances.append([first_dough(true - guess) for guess in (0.0, usual @ found, usual @ mean)])
            inside += (np.abs(found - mean) <= _REACH * np.sqrt(np.diag(covariance))).tolist()
            learned.append(pooled.population.spread[at[0]])
            refused += len(pooled.refused)
        cold, mine, best = np.mean(chances, axis=0)
        fallen |= mine / best < _LEAST or mine / cold < _TIMES_COLD.get(centre, 0.0)
        print(
            f"centres spread {centre:.2f}: learned {np.mean(learned):.3f}; first dough workable cold {cold:.3f}, "
            f"pooled {mine:.3f}, knowing the population {best:.3f}; pooled to cold {mine / cold:.2f} (whoever knows "
            f"{best / cold:.2f}), to the population {mine / best:.3f}; files turned away {refused}",
            flush=True,
        )
    print(
        f"80 % intervals hold the true means in {np.mean(inside):.1%} of {len(inside)}, of each population alike"
    )
    return int(fallen)


if __name__ == "__main__":
    sys.exit(main())
