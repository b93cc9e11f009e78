"""A weigh sheet proposes what a maker can do: premixes that are worth it, crystals that go into the oil."""

from typing import Any

import pytest

import advisor
from helpers import ordinary

PARTS = {
    "isethionate-powder": 50.0,
    "kaolin": 20.0,
    "betaine-30": 20.0,
    "glycerin": 5.0,
    "jojoba-oil": 3.1,
    "phenoxyethanol-blend": 0.9,
}


def sheet(more: dict[str, float], grams: float = 500.0, step: float = 0.01) -> Any:
    parts = {**PARTS, **more}
    parts["kaolin"] += 100 - sum(parts.values())
    lines = [{"material": key, "percent": round(percent, 4)} for key, percent in parts.items()]
    return advisor.weigh({"recipe": {"lines": lines}, "batch_grams": grams, "balance_step": step})


@pytest.mark.parametrize(
    "asked", ordinary.drawn(ordinary.weighings(), 100, seed=4), ids=lambda one: one.named
)
def test_no_premix_is_far_off(asked: ordinary.Asked) -> None:
    answer = advisor.weigh(asked.request)
    assert all(premix.error_percent <= 10 for premix in answer.premixes)
    premixed = {premix.material for premix in answer.premixes}
    for line in answer.lines:
        assert ("Use the premix" in (line.warning or "")) == (
            line.material in premixed and bool(line.warning)
        )


@pytest.mark.parametrize("key", ["menthol", "bht"])
@pytest.mark.parametrize("melt", [{}, {"cetyl-alcohol": 3.0}])
def test_crystals_that_dissolve_in_oil_are_not_milled(key: str, melt: dict[str, float]) -> None:
    answer = sheet({key: 0.5, **melt})
    steps = {step.id: step.materials for step in answer.steps}
    assert steps["dissolve-in-oil"] == (key,)
    assert key not in steps.get("break-up", ())
    assert key not in steps["blend-powders"]
    phase = {line.material: line.phase for line in answer.lines}
    assert phase[key] == phase["jojoba-oil"] < phase["isethionate-powder"]
    order = [step.id for step in answer.steps]
    assert order.index("dissolve-in-oil") < order.index("blend-powders")


@pytest.mark.parametrize("key", ["bicarbonate", "maltodextrin"])
def test_what_dissolves_is_not_kept_back(key: str) -> None:
    answer = sheet({key: 3.0})
    assert key not in {line.material for line in answer.hold_back_powders}
    assert "kaolin" in {line.material for line in answer.hold_back_powders}
