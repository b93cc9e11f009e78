"""Published sums on adding to what is there: alligation by water, and a batch scaled to an over-weighed line."""

from typing import Any

import pytest

import advisor

LINES = {
    "isethionate-powder": 50.0,
    "kaolin": 15.0,
    "rice-flour": 10.0,
    "betaine-30": 18.0,
    "sunflower-oil": 4.0,
    "glycerin": 3.0,
}


def strong(form: str) -> dict[str, Any]:
    return {
        "key": "strong",
        "name": "Strong",
        "form": form,
        "roles": ["primary_surfactant"],
        "composition": {"Matter": 70, "Aqua": 30},
        "active": 70,
    }


@pytest.mark.parametrize("form", ["liquid", "granule"])
@pytest.mark.parametrize("active", [{"max": 40}, {"min": 40, "max": 40}])
def test_water_into_a_strong_material(form: str, active: dict[str, float]) -> None:
    """US Army subcourse MD0802, Pharmaceutical Calculations, sec. 2: water into 300 of 70 % until 40 %: 225."""
    answer = advisor.add(
        {
            "recipe": {"lines": [{"material": "strong", "grams": 300}]},
            "report": {"feel": "workable"},
            "wishes": {"active": active},
            "shelf": ["water"],
            "materials": [strong(form)],
            "balance_step": 0.1,
        }
    )
    line = answer.additions[0]
    assert (line.material, line.grams) == ("water", 225.0)
    assert line.exact_grams == pytest.approx(225.0, abs=1e-6)
    assert answer.after.totals.active == 40.0


def test_a_batch_scaled_to_an_over_weighed_line() -> None:
    """Constructed, exact: 50/15/10/18/4/3 with 19.5 for 18 gives k = 19.5 / 18 = 1.08333."""
    answer = advisor.recover(
        {
            "recipe": {"lines": [{"material": key, "percent": p} for key, p in LINES.items()]},
            "batch_grams": 100,
            "weighed": {**LINES, "betaine-30": 19.5},
            "mixed": True,
            "balance_step": 0.001,
        }
    )
    exact = {line.material: line.exact_grams for line in answer.exact.additions}
    wanted = (4.167, 1.25, 0.833, 0.333, 0.25)
    assert [exact[key] for key in LINES if key != "betaine-30"] == pytest.approx(wanted, abs=5e-4)
    assert {line.material: line.grams for line in answer.exact.additions} == pytest.approx(exact, abs=5e-4)
    assert answer.exact.batch_grams == pytest.approx(108.333, abs=0.003)
