"""A step is the same whether it is solved in the unknowns or in the doughs."""

import numpy as np
import pytest

from advisor.learning.mode import Slope, gram


@pytest.mark.parametrize(("doughs", "unknowns"), [(3, 40), (40, 160), (150, 160), (200, 120)])
def test_a_step_does_not_depend_on_the_way_it_is_solved(doughs: int, unknowns: int) -> None:
    draw = np.random.default_rng(doughs)
    design, curvature = draw.random((doughs, unknowns)), draw.random(doughs) * 1000
    precision, pull = 1 + 99 * draw.random(unknowns), draw.normal(size=unknowns)
    [step] = Slope(design, precision).downhill(curvature, pull[None])
    assert gram(design, curvature, precision) @ step == pytest.approx(pull, rel=1e-7, abs=1e-7)


def test_steps_of_one_design_share_their_work_and_solve_for_no_dough_that_bends_nothing(monkeypatch) -> None:
    draw = np.random.default_rng(7)
    slope, solved, plain = Slope(draw.random((90, 200)), np.ones(200)), [], np.linalg.solve
    monkeypatch.setattr(np.linalg, "solve", lambda of, to: solved.append(len(of)) or plain(of, to))
    shared = slope._among
    for bent in (90, 40, 0):
        curvature = np.where(np.arange(90) < bent, 3.0, 0.0)
        [step] = slope.downhill(curvature, np.ones((1, 200)))
        assert gram(slope.design, curvature, slope.precision) @ step == pytest.approx(np.ones(200), rel=1e-7)
    assert slope._among is shared
    assert solved == [90, 40, 0]
