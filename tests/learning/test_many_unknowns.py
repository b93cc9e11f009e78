"""A step is the same whether it is solved in the unknowns or in the doughs."""

import numpy as np
import pytest

from advisor.learning.mode import downhill, gram


@pytest.mark.parametrize(("doughs", "unknowns"), [(3, 40), (40, 160), (150, 160), (200, 120)])
def test_a_step_does_not_depend_on_the_way_it_is_solved(doughs: int, unknowns: int) -> None:
    draw = np.random.default_rng(doughs)
    design, curvature = draw.random((doughs, unknowns)), draw.random(doughs) * 1000
    precision, pull = 1 + 99 * draw.random(unknowns), draw.normal(size=unknowns)
    step = downhill(design, curvature, precision, pull)
    assert gram(design, curvature, precision) @ step == pytest.approx(pull, rel=1e-7, abs=1e-7)
