"""The most credible centre and demands: Newton's method on the log posterior."""

import math

import numpy as np
from numpy.typing import NDArray

from advisor.frozen import cached_property, dataclass, replace
from advisor.learning.belief import Prior
from advisor.learning.chances import Vector, logistic
from advisor.learning.evidence import Evidence

ENOUGH = 1e-5
_CONVERGED = 1e-12
_ROUNDING = 1e-13
_STEPS_AT_MOST, _SHORT_FROM, _FLAT = 200, 80, 1e-3
MANY = 100
_TINY = 1e-300


@dataclass(frozen=True, eq=False, slots=True)
class Mode:
    """For every habit the mode, minus the log posterior there and its Hessian."""

    point: Vector
    objective: Vector
    hessian: Vector

    def merits(self, evidence: Evidence) -> Vector:
        """Return the log marginal likelihood of every habit, by Laplace's approximation, up to a constant."""
        spare = np.log(evidence.precision).sum() - np.linalg.slogdet(self.hessian)[1]
        return np.asarray(0.5 * spare - self.objective)


@dataclass(frozen=True, eq=False, slots=True)
class _Verdicts:
    """What the doughs say, row by row, of the habits in ``kept``: distances to both borders, in spreads."""

    design: Vector
    upper: Vector
    lower: Vector
    gaps: Vector
    spread: Vector
    weights: Vector
    mean: Vector
    precision: Vector
    sincere: float
    slip: float

    @classmethod
    def of(cls, evidence: Evidence, prior: Prior) -> "_Verdicts":
        edges = np.array([-math.inf, *prior.thresholds, math.inf])
        words = np.array([[one.words] for one in prior.habits])
        spread = np.array([[one.spread or prior.spread] for one in prior.habits])
        upper = words * (edges[evidence.outcomes] * evidence.widths) - evidence.log_index
        lower = words * (edges[evidence.outcomes - 1] * evidence.widths) - evidence.log_index
        return cls(
            design=evidence.design,
            upper=upper / spread,
            lower=lower / spread,
            gaps=np.log(-np.expm1((lower - upper) / spread)),
            spread=spread,
            weights=evidence.weights,
            mean=evidence.mean,
            precision=evidence.precision,
            sincere=math.log1p(-prior.slips),
            slip=math.log(prior.slips / (len(edges) - 1)) if prior.slips else -math.inf,
        )

    def kept(self, rows: NDArray[np.bool_]) -> "_Verdicts":
        """Return the same of fewer habits."""
        names = ("design", "upper", "lower", "gaps", "spread")
        return replace(self, **{name: getattr(self, name)[rows] for name in names})

    def at(self, point: Vector) -> tuple[Vector, Vector, Vector, Vector]:
        """Return the distances at some points, how much every verdict counts there, and the objective."""
        shift = (self.design @ point[..., None])[..., 0] / self.spread
        above, below, pull = self.upper + shift, self.lower + shift, point - self.mean
        meant = self.sincere + self.gaps - np.logaddexp(0.0, -above) - np.logaddexp(0.0, below)
        told = np.logaddexp(meant, self.slip)
        misfit = 0.5 * (pull * pull) @ self.precision - told @ self.weights
        return above, below, self.weights * np.exp(meant - told), misfit


def descend(
    evidence: Evidence, prior: Prior, start: Vector | None = None, *, enough: float = _CONVERGED
) -> Mode:
    """Return the modes by Newton's method with step halving, to ``enough`` of what a last step would gain.

    With a logistic error ln(F(u) - F(v)) = ln F(u) + ln F(-v) + ln(1 - exp(v - u)), whose last term does not
    depend on the unknowns: nothing underflows however far off a verdict lies, and the second derivative is
    -(f(u) + f(v)), so that the problem is strictly convex. Where a verdict may be a slip of the tongue it
    counts by the chance that it is none, at the point reached; where it bends the objective the wrong way it
    is left out of the curvature, so that every step leads down; once such steps are many they are too short,
    and those with the whole curvature are taken, saddles passed on the side that leads down. All habits are
    gone through at once, each until it has arrived.
    """
    habits = len(prior.habits)
    if start is None and habits == 1 and len(evidence.outcomes) == 1:
        return _descend_along(evidence, prior)
    verdicts, size = _Verdicts.of(evidence, prior), len(evidence.precision)
    slope = Slope(evidence.design, evidence.precision)
    point = (
        _first_guess(evidence, slope, verdicts) if start is None else np.broadcast_to(start, (habits, size))
    )
    points, objectives, hessians = np.empty((habits, size)), np.empty(habits), np.empty((habits, size, size))
    under_way = np.arange(habits)
    above, below, counts, objective = verdicts.at(point)
    for taken in range(_STEPS_AT_MOST):
        design, precision, spread = verdicts.design, verdicts.precision, verdicts.spread
        beyond, under = logistic(-above), logistic(below)
        pulls = counts * (beyond - under) / spread
        gradient = precision * (point - verdicts.mean) - (pulls[:, None, :] @ design)[:, 0]
        doubted = (1.0 - counts / np.maximum(verdicts.weights, _TINY)) * (beyond - under) ** 2
        bends = beyond * (1.0 - beyond) + under * (1.0 - under)
        bent = counts * (bends - doubted) / spread**2
        curvature = np.maximum(bent, 0.0)
        step = (
            slope.downhill(curvature, -gradient[:, None])[:, 0]
            if taken < _SHORT_FROM
            else slope.past_saddles(bent, -gradient)
        )
        fall = -(gradient * step).sum(axis=1)
        there = fall < enough * (1.0 + np.abs(objective))
        if there.any():
            arrived = under_way[there]
            points[arrived] = point[there] + step[there]
            objectives[arrived] = objective[there] - 0.5 * fall[there]
            hessians[arrived] = gram(design[there], curvature[there], precision)
            if there.all():
                return Mode(point=points, objective=objectives, hessian=hessians)
            under_way, verdicts = under_way[~there], verdicts.kept(~there)
            slope = Slope(verdicts.design, precision)
            point, step, objective = point[~there], step[~there], objective[~there]
        length, slack = np.ones(len(point)), _ROUNDING * (1.0 + np.abs(objective))
        above, below, counts, reached = verdicts.at(point + step)
        while (uphill := reached > objective + slack).any():
            length[uphill] *= 0.5
            above, below, counts, reached = verdicts.at(point + length[:, None] * step)
        point, objective = point + length[:, None] * step, reached
    raise ArithmeticError("the doughs and the prior have no mode that can be found")


def _descend_along(evidence: Evidence, prior: Prior) -> Mode:
    """Return the mode with a single dough.

    It moves the unknowns along its own design alone, each by its prior variance, so one number is sought; a
    convex search in plain numbers is many times quicker than one in arrays of a few.
    """
    [habit], edges = prior.habits, (-math.inf, *prior.thresholds, math.inf)
    spread, design, weight = habit.spread or prior.spread, evidence.design[0, 0], float(evidence.weights[0])
    direction = design / evidence.precision
    reach, begin = float(design @ direction), float(design @ evidence.mean)
    outcome, width, log_index = (
        int(evidence.outcomes[0]),
        habit.words * float(evidence.widths[0]),
        evidence.log_index[0],
    )
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
                point=(evidence.mean + (pull + step) * direction)[None],
                objective=np.array([reached - 0.5 * fall]),
                hessian=(np.diag(evidence.precision) + curvature * np.multiply.outer(design, design))[None],
            )
        slack = _ROUNDING * (1.0 + abs(reached))
        while objective(pull + step) > reached + slack:
            step *= 0.5
        pull += step
        reached = objective(pull)
    raise ArithmeticError("the dough and the prior have no mode that can be found")


def _sigmoid(x: float) -> float:
    """Return 1 / (1 + exp(-x))."""
    return 0.5 + 0.5 * math.tanh(0.5 * x)


def _softplus(x: float) -> float:
    """Return ln(1 + exp(x))."""
    return max(x, 0.0) + math.log1p(math.exp(-abs(x)))


def _first_guess(evidence: Evidence, slope: "Slope", verdicts: _Verdicts) -> Vector:
    """Return the modes if every verdict were a reading at the middle of its class with a normal error."""
    upper = np.where(np.isinf(verdicts.upper), verdicts.lower + 2.0, verdicts.upper)
    lower = np.where(np.isinf(verdicts.lower), upper - 2.0, verdicts.lower)
    gaps = -0.5 * verdicts.spread * (upper + lower) - (evidence.design @ evidence.mean)
    curvature = evidence.weights / (3.0 * verdicts.spread**2)
    pulls = (curvature * gaps)[:, None, :] @ evidence.design
    return evidence.mean + slope.downhill(curvature, pulls)[:, 0]


@dataclass(frozen=True, eq=False)
class Slope:
    """The steps of some habits: each answers a pull with the Hessian of the curvatures at a point."""

    design: Vector
    precision: Vector

    @cached_property
    def _among(self) -> Vector:
        """What the doughs have in common by what is believed of the unknowns before them."""
        among: Vector = (self.design / self.precision) @ self.design.swapaxes(-1, -2)
        return among

    def downhill(self, curvature: Vector, pulls: Vector) -> Vector:
        """Return the steps that the Hessians answer pulls with, one row each.

        Where the unknowns are many and the doughs fewer, the system is solved in the doughs that bend at all
        (the Woodbury identity): the same step from a smaller matrix.
        """
        design, precision = self.design, self.precision
        if len(precision) < MANY or len(precision) <= curvature.shape[-1]:
            hessian = gram(design, curvature, precision)
            return np.asarray(np.linalg.solve(hessian, pulls.swapaxes(-1, -2)).swapaxes(-1, -2))
        bent = np.flatnonzero(curvature.reshape(-1, curvature.shape[-1]).any(axis=0))
        root, free = np.sqrt(curvature[..., bent]), pulls / precision
        system = self._among[..., bent[:, None], bent] * root[..., None] * root[..., None, :]
        system += np.eye(len(bent))
        answer = np.zeros((*pulls.shape[:-1], curvature.shape[-1]))
        given = root[..., None] * (design @ free.swapaxes(-1, -2))[..., bent, :]
        answer[..., bent] = (root[..., None] * np.linalg.solve(system, given)).swapaxes(-1, -2)
        return np.asarray(free - (answer @ design) / precision)

    def past_saddles(self, bent: Vector, pull: Vector) -> Vector:
        """Return the steps with the whole curvature, down also where it bends the wrong way.

        What bends the wrong way corrects the step without it. Measured by the curvature without it, the whole
        is 1 less the eigenvalues of what these doughs have in common; it counts without its sign.
        """
        wrong = np.flatnonzero((bent < 0.0).any(axis=0))
        humps = np.sqrt(np.maximum(-bent[:, wrong], 0.0))[..., None] * self.design[:, wrong]
        answers = self.downhill(np.maximum(bent, 0.0), np.concatenate((pull[:, None], humps), axis=1))
        step, across = answers[:, 0], answers[:, 1:]
        taken, axes = np.linalg.eigh(humps @ across.swapaxes(-1, -2))
        more = (1.0 / np.maximum(np.abs(1.0 - taken), _FLAT) - 1.0) / np.maximum(taken, _FLAT)
        more = np.where(taken < _FLAT, 1.0, more)
        along = axes.swapaxes(-1, -2) @ (humps @ step[..., None])
        correction = across.swapaxes(-1, -2) @ (axes @ (more[..., None] * along))
        return np.asarray(step + correction[..., 0])


def gram(design: Vector, curvature: Vector, precision: Vector) -> Vector:
    """Return design' diag(curvature) design + diag(precision), for every habit."""
    scaled = design * np.sqrt(curvature)[..., None]
    return np.asarray(scaled.swapaxes(-1, -2) @ scaled + np.diag(precision))


def inverse(hessian: Vector) -> Vector:
    """Return the inverses of positive definite matrices, symmetric to the last bit."""
    inverse = np.linalg.inv(hessian)
    return np.asarray(0.5 * (inverse + inverse.swapaxes(-1, -2)))
