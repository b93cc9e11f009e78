"""Doughs that do not fit the others, and doughs that contradict each other."""

import math

import numpy as np
from numpy.typing import NDArray

from advisor.learning.belief import LearningRules, Prior
from advisor.learning.chances import Vector, logistic
from advisor.learning.evidence import Evidence
from advisor.learning.mode import Mode

_GREATEST_SLOPE = 0.25


def _below(evidence: Evidence, mode: Mode, prior: Prior) -> Vector:
    """Return, for every dough at the modes, the chance of a class at most 0, 1, .. number of classes."""
    eta = evidence.log_index - (evidence.design @ mode.point[..., None])[..., 0]
    words, chances = np.array([(one.words, one.chance) for one in prior.habits]).T
    borders = words[:, None, None] * np.multiply.outer(evidence.widths, prior.thresholds)
    inner = np.tensordot(chances, logistic((borders - eta[..., None]) / prior.spread), 1)
    return np.pad(inner, ((0, 0), (1, 1)), constant_values=((0.0, 0.0), (0.0, 1.0)))


def odd_ones(evidence: Evidence, mode: Mode, prior: Prior, rules: LearningRules) -> NDArray[np.intp]:
    """Return the rows whose verdict, or one further out, had less than the chance the rules set."""
    below = _below(evidence, mode, prior)
    rows = np.arange(len(below))
    drier, wetter = below[rows, evidence.outcomes], 1.0 - below[rows, evidence.outcomes - 1]
    return np.flatnonzero(np.minimum(drier, wetter) < rules.outlier_chance)


def scatter(
    evidence: Evidence, mode: Mode, covariance: Vector, prior: Prior, rules: LearningRules | None
) -> tuple[float, bool]:
    """Return the dispersion by the first habit, and whether it is more than chance explains."""
    if rules is None or len(evidence.weights) < rules.dispersion_doughs:
        return 1.0, False
    doughs = float(evidence.weights.sum())
    parameters = len(evidence.precision) - float(np.diag(covariance[0]) @ evidence.precision)
    if doughs - parameters < 1.0:
        return 1.0, False
    below = _below(evidence, mode, prior)
    chances = np.diff(below, axis=1)
    squares = (1.0 - below[:, 1:] - below[:, :-1]) ** 2
    information = (chances * squares).sum(axis=1)
    rows = np.arange(len(below))
    weights, freedom = evidence.weights, (doughs - parameters) / doughs
    found = weights @ squares[rows, evidence.outcomes - 1]
    borders = below * (1.0 - below)
    curvature = weights @ (borders[rows, evidence.outcomes] + borders[rows, evidence.outcomes - 1])
    dispersion = float(found / (max(float(curvature), _GREATEST_SLOPE) * freedom))
    excess = found - weights @ information * freedom
    chance = math.sqrt(weights**2 @ ((chances * squares**2).sum(axis=1) - information**2))
    return dispersion, bool(dispersion > 1.0 and excess > rules.dispersion_excess * chance)
