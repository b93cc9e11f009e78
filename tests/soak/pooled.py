"""Pool what invented shops learned, and see what a new shop's first dough has of it.

Usage: python -m tests.soak.pooled [--shops 500] [--populations 1] [--spreads 0.20 0.10 0.05]. Ends with 1 where the
first dough of a new shop is workable less than 0.9 times as often as for whoever knows the population.
"""

import argparse
import math
import sys
import tempfile
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from advisor.learning import class_chances
from advisor.pooling.pool import pool
from advisor.pooling.shared import CENTRE, share_evidence
from tests.pooling.test_pool import BOOK, POWDERS, file_of, shop

_NEW_SHOPS = 2000
_LEAST = 0.9
_REACH = 1.2816
_DEMAND_SPREAD = 0.05


def first_dough(off: np.ndarray) -> float:
    """Return the mean chance that doughs off by this much are workable."""
    borders, spread = BOOK.dough.classes.thresholds, BOOK.dough.classes.spread
    return float(np.mean([class_chances(one, 0.0, borders, spread)[len(borders) // 2] for one in off]))


def main() -> int:
    """Pool for every spread of the makers' centres, print, and judge."""
    asked = argparse.ArgumentParser()
    asked.add_argument("--shops", type=int, default=500)
    asked.add_argument("--populations", type=int, default=1)
    asked.add_argument("--spreads", type=float, nargs="+", default=[0.20, 0.10, 0.05])
    options = asked.parse_args()
    inside: list[bool] = []
    worst = math.inf
    for centre in options.spreads:
        for population in range(options.populations):
            rng = np.random.default_rng([97, population])
            sds = np.array(
                [BOOK.dough.prior.centre_sd, *(BOOK.ingredients[key].uptake_sd for key in POWDERS)]
            )
            mean, spread = sds * rng.normal(size=len(sds)), np.array([centre, *[_DEMAND_SPREAD] * 4])
            with tempfile.TemporaryDirectory() as folder:
                files = [
                    file_of(Path(folder), seed, share_evidence(shop(seed, mean, spread)[0], BOOK.edition))
                    for seed in range(options.shops)
                ]
                pooled = pool(files, BOOK)
            at = [pooled.keys.index(key) for key in (CENTRE, *POWDERS)]
            found, covariance = pooled.population.mean[at], pooled.population.covariance[np.ix_(at, at)]
            usual = np.column_stack((np.ones(_NEW_SHOPS), rng.dirichlet((6, 2, 2, 2), _NEW_SHOPS)))
            true = (usual * (mean + spread * rng.normal(size=usual.shape))).sum(axis=1)
            cold, mine, best = (first_dough(true - guess) for guess in (0.0, usual @ found, usual @ mean))
            inside += (np.abs(found - mean) <= _REACH * np.sqrt(np.diag(covariance))).tolist()
            worst = min(worst, mine / best)
            print(
                f"centres spread {centre:.2f}: learned {pooled.population.spread[at[0]]:.3f}; first dough workable "
                f"cold {cold:.3f}, pooled {mine:.3f}, knowing the population {best:.3f}; pooled to cold "
                f"{mine / cold:.2f}, to the population {mine / best:.3f}; files turned away {len(pooled.refused)}"
            )
    print(f"80 % intervals hold the true means in {np.mean(inside):.0%} of {len(inside)}")
    return int(worst < _LEAST)


if __name__ == "__main__":
    sys.exit(main())
