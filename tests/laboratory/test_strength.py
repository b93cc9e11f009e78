"""Strength against published and independent figures."""

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import norm, triang

from advisor import strength, titrate
from advisor.errors import InvalidRequest, UnknownMaterial
from advisor.recipe.strength_spread import Spread
from advisor.recipe.strength_spread import strength as spread_of
from advisor.rulebook.load import load_rulebook

RULES = load_rulebook().strength


def lot(key: str, active: Any) -> dict[str, Any]:
    return {
        "key": key,
        "name": key,
        "form": "powder",
        "roles": ["primary_surfactant"],
        "composition": {"Surfactant": 100},
        "active": active,
        "water": 0,
    }


LOTS = [
    lot("one", {"typical": 85, "low": 82, "high": 88}),
    lot("two", {"typical": 95, "low": 93, "high": 97}),
    lot("three", {"typical": 30, "low": 28, "high": 32}),
    lot("inert", 0),
]


def batch(unit: str = "percent", **besides: Any) -> dict[str, Any]:
    amounts = {"one": 55, "two": 15, "three": 20, "inert": 10}
    lines = [{"material": key, unit: amount} for key, amount in amounts.items()]
    return {"recipe": {"lines": lines}, "materials": LOTS, **besides}


def test_four_rectangular_quantities_have_the_published_interval() -> None:
    # JCGM 101:2008, 9.2.3: four rectangular inputs of mean 0 and standard deviation 1; u = 2.0, 95 % within
    # +-3.8794 exactly.
    terms = [Spread(-(3**0.5), 3**0.5)] * 4
    rules = RULES.model_copy(update={"interval": 0.95})
    found = spread_of(terms, rules, (-3.8794, 3.8794))
    assert found.sd == pytest.approx(2.0)
    assert found.chance_in_band == pytest.approx(0.95, abs=5e-6)
    assert found.interval == pytest.approx((-3.8794, 3.8794), abs=5e-5)


def test_three_lots_lie_in_the_band_with_the_exact_chance() -> None:
    # 55 % of 82-88, 15 % of 93-97, 20 % of 28-32: mean 67.00, sd 0.9954; exactly 0.798506 between 65 and 68,
    # where a normal distribution would say 0.8202.
    terms = [Spread(82, 88).scaled(0.55), Spread(93, 97).scaled(0.15), Spread(28, 32).scaled(0.20)]
    found = spread_of(terms, RULES, (65, 68))
    assert found.mean == pytest.approx(67.0)
    assert found.sd == pytest.approx(0.9954, abs=5e-5)
    assert found.exact
    assert found.chance_in_band == pytest.approx(0.798506, abs=5e-7)
    normal = norm(67, 0.9954)
    assert normal.cdf(68) - normal.cdf(65) == pytest.approx(0.8202, abs=5e-5)


def test_a_typical_value_in_the_middle_is_a_typical_value() -> None:
    # Triangles: variance width^2 / 24, so the standard deviation of the rectangles over the root of two.
    answer = strength(batch(band={"min": 65, "max": 68}))
    assert answer.mean == pytest.approx(67.0)
    assert answer.sd == pytest.approx(0.9954 / 2**0.5, abs=5e-5)
    assert answer.exact
    assert answer.contributions[0].material == "one"


@pytest.mark.parametrize("nudge", [-1e-3, -1e-6, 1e-6, 1e-3])
def test_there_is_no_knife_edge_in_the_middle(nudge: float) -> None:
    middle, beside = (
        spread_of([Spread(82.0, 88.0, 85.0 + off), Spread(93.0, 97.0)], RULES, (177.0, 182.0))
        for off in (0.0, nudge)
    )
    assert beside.sd == pytest.approx(middle.sd, abs=abs(nudge))
    assert beside.chance_in_band == pytest.approx(middle.chance_in_band, abs=abs(nudge) + 1e-7)


@given(
    st.lists(
        st.tuples(st.floats(0, 40), st.floats(0.01, 5), st.floats(0, 1)),
        min_size=1,
        max_size=4,
    ),
    st.floats(0.05, 0.95),
)
def test_exact_chances_agree_with_draws(terms: list[tuple[float, float, float]], place: float) -> None:
    spreads = [Spread(low, low + width, low + width * top) for low, width, top in terms]
    low, high = sum(s.low for s in spreads), sum(s.high for s in spreads)
    edge = low + place * (high - low)
    exact = spread_of(spreads, RULES, (low - 1, edge))
    drawn = spread_of(spreads, RULES.model_copy(update={"exact_pieces_at_most": 1}), (low - 1, edge))
    assert exact.exact
    assert not drawn.exact
    assert exact.chance_in_band == pytest.approx(drawn.chance_in_band, abs=0.006)
    assert exact.interval == pytest.approx(drawn.interval, abs=0.02 * (high - low) + 1e-6)


@pytest.mark.parametrize("top", [0.0, 0.2, 0.5, 1.0])
def test_one_triangle_is_scipys(top: float) -> None:
    spread = Spread(10.0, 14.0, 10.0 + 4 * top)
    reference = triang(top, loc=10, scale=4)
    assert spread.variance == pytest.approx(reference.var())
    assert spread.mean == pytest.approx(reference.mean())
    found = spread_of([spread], RULES, (11.0, 12.5))
    assert found.chance_in_band == pytest.approx(reference.cdf(12.5) - reference.cdf(11.0), abs=1e-6)


def test_many_lots_are_drawn_with_a_fixed_seed() -> None:
    terms = [Spread(1.0, 2.0, 1.2)] * 12
    first, second = (spread_of(terms, RULES, (16.0, 18.0)) for _ in range(2))
    assert first == second
    assert not first.exact
    assert first.sd == pytest.approx((12 * Spread(1.0, 2.0, 1.2).variance) ** 0.5)


def test_a_coarse_balance_widens_the_spread_where_grams_are_known() -> None:
    exact = strength(batch("grams"))
    coarse = strength(batch("grams", balance_step=1.0))
    unknown = strength(batch(balance_step=1.0))
    assert coarse.sd > exact.sd
    assert unknown.sd == exact.sd
    assert "balance" in [note.id for note in unknown.notes]
    # By hand: the strength moves by (activity - 67 %) x 0.5 g / 100 g either way; of "one" 0.09, "two" 0.14,
    # "three" 0.185, "inert" 0.335 points.
    reach = np.array([0.09, 0.14, 0.185, 0.335])
    assert coarse.sd**2 == pytest.approx(exact.sd**2 + float((reach**2).sum()) / 3, abs=5e-4)


def test_single_figures_are_taken_as_exact_and_it_is_said() -> None:
    request = batch()
    request["materials"] = [lot(material["key"], 50.0) for material in LOTS]
    answer = strength(request)
    assert (answer.sd, answer.chance_in_band) == (0.0, 1.0)
    assert "exact-figure" in [note.id for note in answer.notes]


def test_without_a_band_the_recipes_own_strength_within_a_point_is_asked() -> None:
    answer = strength(batch())
    assert (answer.band.min, answer.band.max) == (66.0, 68.0)


def test_one_sided_bands_are_one_sided() -> None:
    above = strength(batch(band={"min": 67})).chance_in_band
    below = strength(batch(band={"max": 67})).chance_in_band
    assert above == pytest.approx(0.5, abs=1e-6)
    assert above + below == pytest.approx(1.0)


def test_the_order_of_lines_does_not_matter() -> None:
    request = batch()
    turned = {**request, "recipe": {"lines": request["recipe"]["lines"][::-1]}}
    assert strength(request) == strength(turned)


def test_a_constructed_titration() -> None:
    # Constructed: 20.0 ml of 0.00400 mol/l, M 288.38 g/mol, 1.000 g made to 1000 ml, aliquot 25 ml give 92.28 % by
    # 4 V c M / m. That this is the formula of ISO 2271:1989 is quoted from memory.
    reading = {"volume_ml": 20.0, "concentration_mol_per_l": 0.004, "sample_grams": 1.0}
    answer = titrate({**reading, "molar_mass": 288.38})
    assert answer.active == 92.28
    assert "laboratory" in [caution.id for caution in answer.cautions]
    known = titrate({**reading, "material": "lauryl-sulfate-powder"})
    assert known.active == pytest.approx(known.molar_mass * 0.32, abs=0.005)


def test_a_titration_needs_a_molar_mass_and_cannot_find_more_than_all() -> None:
    reading = {"volume_ml": 20.0, "concentration_mol_per_l": 0.004, "sample_grams": 1.0}
    with pytest.raises(InvalidRequest, match="molar mass"):
        titrate(reading)
    with pytest.raises(InvalidRequest, match="molar mass"):
        titrate({**reading, "material": "kaolin"})
    with pytest.raises(InvalidRequest, match="more than there is"):
        titrate({**reading, "molar_mass": 400.0})
    with pytest.raises(UnknownMaterial):
        titrate({**reading, "material": "no-such-thing"})
