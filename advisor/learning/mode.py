"""The most credible centre and demands: Newton's method on the log posterior."""

import math

import numpy as np

from advisor.frozen import dataclass
from advisor.learning.belief import Prior
from advisor.learning.chances import Vector, logistic
from advisor.learning.evidence import Evidence
from advisor.threads import cached_property

ENOUGH = 1e-5
_CONVERGED = 1e-12
_ROUNDING = 1e-13
_STEPS_AT_MOST = 200
_MANY = 100
_TINY = 1e-300


@dataclass(frozen=True, eq=False, slots=True)
class Mode:
    """The mode, minus the log posterior there and its Hessian."""

    point: Vector
    objective: float
    hessian: Vector


def descend(
    evidence: Evidence, prior: Prior, start: Vector | None = None, *, enough: float = _CONVERGED
) -> Mode:
    """Return the mode by Newton's method with step halving, to ``enough`` of what a last step would gain.

    With a logistic error ln(F(u) - F(v)) = ln F(u) + ln F(-v) + ln(1 - exp(v - u)), whose last term does not
    depend on the unknowns: nothing underflows however far off a verdict lies, and the second derivative is
    -(f(u) + f(v)), so that the problem is strictly convex. Where a verdict may be a slip of the tongue it
    counts by the chance that it is none, at the point reached; where it bends the objective the wrong way it
    is left out of the curvature, so that every step leads down.
    """
    if start is None and len(evidence.outcomes) == 1:
        return _descend_along(evidence, prior)
    spread = prior.spread
    edges = np.array([-math.inf, *prior.thresholds, math.inf])
    upper = edges[evidence.outcomes] * evidence.widths - evidence.log_index
    lower = edges[evidence.outcomes - 1] * evidence.widths - evidence.log_index
    design, weights, mean, precision = evidence.design, evidence.weights, evidence.mean, evidence.precision
    gaps = np.log(-np.expm1((lower - upper) / spread))
    sincere, slip = math.log1p(-prior.slips), _log(prior.slips / (len(edges) - 1))

    def distances(point: Vector) -> tuple[Vector, Vector, Vector, float]:
        shift = design @ point
        above, below = (upper + shift) / spread, (lower + shift) / spread
        pull = point - mean
        meant = sincere + gaps - np.logaddexp(0.0, -above) - np.logaddexp(0.0, below)
        told = np.logaddexp(meant, slip)
        misfit = 0.5 * float((precision * pull) @ pull) - float(weights @ told)
        return above, below, weights * np.exp(meant - told), misfit

    slope = Slope(design, precision)
    point = _first_guess(evidence, slope, edges, spread) if start is None else start
    above, below, counts, objective = distances(point)
    for _ in range(_STEPS_AT_MOST):
        beyond, under = logistic(-above), logistic(below)
        gradient = precision * (point - mean) - design.T @ (counts * (beyond - under)) / spread
        doubted = (1.0 - counts / np.maximum(weights, _TINY)) * (beyond - under) ** 2
        bends = beyond * (1.0 - beyond) + under * (1.0 - under)
        curvature = counts * np.maximum(bends - doubted, 0.0) / spread**2
        step = slope.downhill(curvature, -gradient)
        fall = -float(gradient @ step)
        if fall < enough * (1.0 + abs(objective)):
            hessian = gram(design, curvature, precision)
            return Mode(point=point + step, objective=objective - 0.5 * fall, hessian=hessian)
        length, slack = 1.0, _ROUNDING * (1.0 + abs(objective))
        above, below, counts, reached = distances(point + step)
        while reached > objective + slack:
            length *= 0.5
            above, below, counts, reached = distances(point + length * step)
        point, objective = point + length * step, reached
    raise ArithmeticError("the doughs and the prior have no mode that can be found")


def _descend_along(evidence: Evidence, prior: Prior) -> Mode:
    """Return the mode with a single dough.

    It moves the unknowns along its own design alone, each by its prior variance, so one number is sought; a
    convex search in plain numbers is many times quicker than one in arrays of a few.
    """
    spread, design, weight = prior.spread, evidence.design[0], float(evidence.weights[0])
    direction = design / evidence.precision
    reach, begin = float(design @ direction), float(design @ evidence.mean)
    edges = (-math.inf, *prior.thresholds, math.inf)
    outcome, width, log_index = int(evidence.outcomes[0]), float(evidence.widths[0]), evidence.log_index[0]
    upper = edges[outcome] * width - float(log_index) + begin
    lower = edges[outcome - 1] * width - float(log_index) + begin
    constant = -weight * math.log(-math.expm1((lower - upper) / spread))

    def objective(pull: float) -> float:
        above, below = (upper + reach * pull) / spread, (lower + reach * pull) / spread
        return constant + weight * (_softplus(-above) + _softplus(below)) + 0.5 * reach * pull**2

    pull, reached = 0.0, objective(0.0)
    for _ in range(_STEPS_AT_MOST):
        beyond = _sigmoid(-(upper + reach * pull) / spread)
        under = _sigmoid((lower + reach * pull) / spread)
        slope = reach * (pull - weight * (beyond - under) / spread)
        curvature = weight * (beyond * (1.0 - beyond) + under * (1.0 - under)) / spread**2
        step = -slope / (reach + reach**2 * curvature)
        fall = -slope * step
        if fall < _CONVERGED * (1.0 + abs(reached)):
            return Mode(
                point=evidence.mean + (pull + step) * direction,
                objective=reached - 0.5 * fall,
                hessian=np.diag(evidence.precision) + curvature * np.multiply.outer(design, design),
            )
        slack = _ROUNDING * (1.0 + abs(reached))
        while objective(pull + step) > reached + slack:
            step *= 0.5
        pull += step
        reached = objective(pull)
    raise ArithmeticError("the dough and the prior have no mode that can be found")


def _log(x: float) -> float:
    """Return ln x, minus infinity at 0."""
    return math.log(x) if x > 0 else -math.inf


def _softplus(x: float) -> float:
    """Return ln(1 + exp(x))."""
    return max(x, 0.0) + math.log1p(math.exp(-abs(x)))


def _sigmoid(x: float) -> float:
    """Return 1 / (1 + exp(-x))."""
    small = math.exp(-abs(x))
    return 1.0 / (1.0 + small) if x >= 0 else small / (1.0 + small)


def _first_guess(evidence: Evidence, slope: "Slope", edges: Vector, spread: float) -> Vector:
    """Return the mode if every verdict were a reading at the middle of its class with a normal error."""
    borders = np.concatenate(([edges[1] - spread], edges[1:-1], [edges[-2] + spread]))
    middles = 0.5 * (borders[1:] + borders[:-1])
    aimed = middles[evidence.outcomes - 1] * evidence.widths
    gaps = evidence.log_index - aimed - evidence.design @ evidence.mean
    curvature = evidence.weights / (3.0 * spread**2)
    pull = evidence.design.T @ (curvature * gaps)
    return evidence.mean + slope.downhill(curvature, pull)


@dataclass(frozen=True, eq=False)
class Slope:
    """The steps of one design: each answers a pull with the Hessian of the curvatures at a point."""

    design: Vector
    precision: Vector

    @cached_property
    def _among(self) -> Vector:
        """What the doughs have in common by what is believed of the unknowns before them."""
        among: Vector = (self.design / self.precision) @ self.design.T
        return among

    def downhill(self, curvature: Vector, pull: Vector) -> Vector:
        """Return the step that the Hessian answers a pull with.

        Where the unknowns are many and the doughs fewer, the system is solved in the doughs that bend at all
        (the Woodbury identity): the same step from a smaller matrix.
        """
        design, precision = self.design, self.precision
        if len(precision) < _MANY or len(precision) <= len(curvature):
            return np.asarray(np.linalg.solve(gram(design, curvature, precision), pull), dtype=np.float64)
        bent = np.flatnonzero(curvature)
        root, free = np.sqrt(curvature[bent]), pull / precision
        system = self._among[np.ix_(bent, bent)] * np.multiply.outer(root, root)
        system.flat[:: len(bent) + 1] += 1.0
        answer = np.zeros(len(curvature))
        answer[bent] = root * np.linalg.solve(system, root * (design @ free)[bent])
        step: Vector = free - (answer @ design) / precision
        return step


def gram(design: Vector, curvature: Vector, precision: Vector) -> Vector:
    """Return design' diag(curvature) design + diag(precision)."""
    scaled = design * np.sqrt(curvature)[:, None]
    gram = scaled.T @ scaled
    gram.flat[:: len(precision) + 1] += precision
    return gram


def inverse(hessian: Vector) -> Vector:
    """Return the inverse of a positive definite matrix, symmetric to the last bit."""
    inverse = np.linalg.inv(hessian)
    return 0.5 * (inverse + inverse.T)
