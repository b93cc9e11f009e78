"""The doughs as arrays."""

from collections.abc import Sequence
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from advisor.frozen import dataclass, replace
from advisor.learning.belief import Dough, Habit, Prior
from advisor.learning.chances import Vector


@dataclass(frozen=True, eq=False, slots=True)
class Evidence:
    """The doughs as arrays, one row each; the first column of ``design`` is the centre."""

    powders: tuple[str, ...]
    support: dict[str, int]
    log_index: Vector
    design: Vector
    outcomes: NDArray[np.intp]
    weights: Vector
    widths: Vector
    mean: Vector
    precision: Vector

    def joined(self, after: "Evidence", prior: Prior) -> "Evidence":
        """Return these doughs and those after them, with the powders of both."""
        powders = tuple(sorted({*self.powders, *after.powders}))
        column = {powder: place for place, powder in enumerate(powders, start=1)}
        count = len(self.outcomes)
        design = np.zeros((count + len(after.outcomes), 1 + len(powders)))
        design[:count, [0, *(column[one] for one in self.powders)]] = self.design
        design[count:, [0, *(column[one] for one in after.powders)]] = after.design
        return Evidence(
            powders=powders,
            support={one: self.support.get(one, 0) + after.support.get(one, 0) for one in powders},
            log_index=np.concatenate((self.log_index, after.log_index)),
            design=design,
            outcomes=np.concatenate((self.outcomes, after.outcomes)),
            weights=np.concatenate((self.weights, after.weights)),
            widths=np.concatenate((self.widths, after.widths)),
            mean=np.array([prior.centre, *(prior.demand_means.get(one, 0.0) for one in powders)]),
            precision=np.array([prior.centre_sd, *(prior.demand_sds[one] for one in powders)]) ** -2.0,
        )

    def drifting(self, habits: Sequence[Habit]) -> "Evidence":
        """Return the evidence with what the centre has changed since: a design for each habit.

        The first column then speaks of the centre at the next dough; one column stands for each span of
        doughs, drawn with a standard deviation of 1. Spans grow with their age, so that five hundred doughs
        need some fifteen of them.
        """
        if not any(one.drift for one in habits):
            return replace(self, design=np.repeat(self.design[None], len(habits), axis=0))
        count, known = self.design.shape
        begins = _spans(count)
        steps = np.where(np.arange(count, 0, -1)[:, None] >= begins, -1.0, 0.0)
        design = np.empty((len(habits), count, known + len(begins)))
        design[:, :, :known] = self.design
        for place, one in enumerate(habits):
            design[place, :, known:] = steps @ (one.drift * _together(count, one.memory))
        return replace(
            self,
            design=design,
            mean=np.concatenate((self.mean, np.zeros(len(begins)))),
            precision=np.concatenate((self.precision, np.ones(len(begins)))),
        )

    def without(self, rows: NDArray[np.intp]) -> "Evidence":
        """Return the evidence less some doughs; the powders stay, with less support or none."""
        design = np.delete(self.design, rows, axis=-2)
        carried = design.reshape(-1, *design.shape[-2:])[0, :, 1 : 1 + len(self.powders)]
        counts = np.count_nonzero(carried, axis=0).tolist()
        return replace(
            self,
            support=dict(zip(self.powders, counts, strict=True)),
            log_index=np.delete(self.log_index, rows),
            design=design,
            outcomes=np.delete(self.outcomes, rows),
            weights=np.delete(self.weights, rows),
            widths=np.delete(self.widths, rows),
        )


@lru_cache(maxsize=1024)
def _spans(count: int) -> NDArray[np.intp]:
    """Return the ages at which a span of doughs begins: each doughs of one age, then ever longer ones."""
    begins = [1]
    while (age := begins[-1] + max(1, begins[-1] // 3)) <= count:
        begins.append(age)
    return np.array(begins, dtype=np.intp)


@lru_cache(maxsize=1024)
def _together(count: int, memory: float) -> Vector:
    """Return how the changes over spans arise from independent draws, for a drift of 1.

    The speed of the centre is correlated as exp(-doughs between / memory); its integral over two spans has
    the covariance that the second differences of memory^2 (x / memory + exp(-x / memory)) give.
    """
    ends = np.concatenate(([0], _spans(count)))
    if not memory:
        return np.asarray(np.diag(np.sqrt(np.diff(ends))))
    apart = np.abs(np.subtract.outer(ends, ends)) / memory
    twice = memory**2 * (apart + np.exp(-apart))
    covariance = twice[1:, :-1] - twice[1:, 1:] - twice[:-1, :-1] + twice[:-1, 1:]
    return np.asarray(np.linalg.cholesky(covariance))


def gather(doughs: Sequence[Dough], prior: Prior) -> Evidence:
    """Return the doughs as arrays; powders without uncertainty of their own have no column."""
    sds = prior.demand_sds
    powders = tuple(sorted({key for dough in doughs for key in dough.shares if sds.get(key, 0.0) > 0}))
    column = {powder: place for place, powder in enumerate(powders, start=1)}
    support = dict.fromkeys(powders, 0)
    design = np.zeros((len(doughs), 1 + len(powders)))
    design[:, 0] = 1.0
    classes = len(prior.thresholds) + 1
    if any(dough.outcome > classes for dough in doughs):
        raise ValueError(f"outcome must be 1..{classes}")
    for row, dough in enumerate(doughs):
        for key, share in dough.shares.items():
            if share and key in column:
                design[row, column[key]] = share
                support[key] += 1
    return Evidence(
        powders=powders,
        support=support,
        log_index=np.array([dough.log_index for dough in doughs], dtype=np.float64),
        design=design,
        outcomes=np.array([dough.outcome for dough in doughs], dtype=np.intp),
        weights=np.array([dough.weight for dough in doughs], dtype=np.float64),
        widths=np.array([dough.width for dough in doughs], dtype=np.float64),
        mean=np.array([prior.centre, *(prior.demand_means.get(powder, 0.0) for powder in powders)]),
        precision=np.array([prior.centre_sd, *(prior.demand_sds[powder] for powder in powders)]) ** -2.0,
    )
