"""Steps of the search for the mode: the same with the whole curvature however it is taken, and never up."""

import numpy as np
import pytest

from advisor.learning.mode import _past_saddles


@pytest.mark.parametrize("seed", range(20))
@pytest.mark.parametrize("lowest", [0.1, -3.0])
def test_a_step_is_the_one_of_the_eigenvalues_without_their_signs(seed: int, lowest: float) -> None:
    random = np.random.default_rng(seed)
    habits, doughs, unknowns = 2, 6, 9
    design = random.normal(size=(habits, doughs, unknowns))
    bent = random.uniform(lowest, 2.0, size=(habits, doughs))
    precision = random.uniform(0.5, 1.5, size=unknowns)
    gradient = random.normal(size=(habits, unknowns))
    whole = np.einsum("hdi,hd,hdj->hij", design, bent, design) + np.diag(precision)
    values, axes = np.linalg.eigh(whole)
    assert (values.min() > 0.0) == (lowest > 0.0)
    expected = -np.einsum("hik,hk,hjk,hj->hi", axes, 1.0 / np.abs(values), axes, gradient)
    step = _past_saddles(design, bent, precision, gradient)
    assert step == pytest.approx(expected, rel=1e-8)
    assert (np.einsum("hi,hi->h", gradient, step) < 0.0).all()
