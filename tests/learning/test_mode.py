"""Steps of the search for the mode: Newton's where all bends rightly, and never up."""

import numpy as np
import pytest

from advisor.learning.mode import MANY, Slope


@pytest.mark.parametrize("seed", range(10))
@pytest.mark.parametrize("lowest", [0.1, -3.0])
@pytest.mark.parametrize("unknowns", [9, MANY + 20])
def test_a_step_takes_the_curvature_without_the_signs_that_it_has_beside_what_bends_rightly(
    seed: int, lowest: float, unknowns: int
) -> None:
    random = np.random.default_rng(seed)
    habits, doughs = 2, 8
    design = random.normal(size=(habits, doughs, unknowns))
    bent = random.uniform(lowest, 2.0, size=(habits, doughs))
    precision = random.uniform(0.5, 1.5, size=unknowns)
    pull = random.normal(size=(habits, unknowns))
    step = Slope(design, precision).past_saddles(bent, pull)
    for habit in range(habits):
        rightly = _hessian(design[habit], np.maximum(bent[habit], 0.0), precision)
        root = np.linalg.inv(np.linalg.cholesky(rightly))
        values, axes = np.linalg.eigh(root @ _hessian(design[habit], bent[habit], precision) @ root.T)
        assert (values.min() > 0.0) or lowest < 0.0
        expected = root.T @ axes @ ((axes.T @ root @ pull[habit]) / np.abs(values))
        assert step[habit] == pytest.approx(expected, rel=1e-7, abs=1e-9)
        assert pull[habit] @ step[habit] > 0.0


def test_where_nothing_bends_wrongly_it_is_the_step_of_newton() -> None:
    random = np.random.default_rng(1)
    design, precision = random.normal(size=(1, 5, 7)), np.ones(7)
    bent, pull = random.uniform(0.5, 1.0, size=(1, 5)), random.normal(size=(1, 7))
    expected = np.linalg.solve(_hessian(design[0], bent[0], precision), pull[0])
    assert Slope(design, precision).past_saddles(bent, pull)[0] == pytest.approx(expected, rel=1e-12)


def _hessian(design: np.ndarray, bent: np.ndarray, precision: np.ndarray) -> np.ndarray:
    return design.T @ (bent[:, None] * design) + np.diag(precision)
