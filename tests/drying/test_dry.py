"""Drying curves against published and independent figures."""

import math
from typing import Any

import numpy as np
import pytest
from scipy.optimize import curve_fit

from advisor import dry
from advisor.drying import fit as drying
from advisor.drying.curve import DryingCurve, Interval, hours_to_dry
from advisor.drying.diffusion import first_guess
from advisor.drying.filling import filling, loss_percent
from advisor.drying.fit import fit_drying
from advisor.drying.held_water import held_water, norrish_activity, water_activity
from advisor.errors import InvalidRecipe, InvalidRequest, NotInstalled
from advisor.rulebook.load import load_rulebook

RULES = load_rulebook().drying

# Geankoplis, Transport Processes and Unit Operations, problem 9.7-2: mass of a drying solid [kg], dry solid
# 3.765 kg, moisture at equilibrium 0.190 kg.
HOURS = (0, 0.4, 0.8, 1.4, 2.2, 3, 4.2, 5, 7, 9, 12)
GRAMS = (4944, 4885, 4808, 4699, 4554, 4404, 4241, 4150, 4019, 3978, 3955)
SOLID = [{"hours": h, "grams": g} for h, g in zip(HOURS, GRAMS, strict=True)]

FRESH = {
    "lines": [
        {"material": "isethionate-powder", "percent": 55},
        {"material": "kaolin", "percent": 12},
        {"material": "corn-starch", "percent": 8},
        {"material": "betaine-30", "percent": 20},
        {"material": "glycerin", "percent": 5},
    ]
}


def daily(
    grams: float, leaving: float, k: float, n: float, days: int, every: int = 1
) -> list[dict[str, Any]]:
    hours = [24.0 * day for day in range(days + 1)]
    return [{"hours": h, "grams": grams - leaving * (1 - math.exp(-k * h**n))} for h in hours]


def test_the_published_solid_dries_by_pages_curve() -> None:
    # Least squares on the free moisture over its start: k 0.176875, n 1.370626, error 0.0085.
    answer = dry({"weighings": SOLID, "final_grams": 3765 + 190, "dry_grams": 3765})
    assert answer.model == "page"
    assert answer.parameters.k == pytest.approx(0.176875, abs=5e-7)
    assert answer.parameters.n == pytest.approx(1.370626, abs=5e-7)
    assert answer.fit is not None
    assert answer.fit.rmse == pytest.approx(0.0085, abs=5e-5)
    assert "4.8 % water" in next(note.text for note in answer.notes if note.id == "moisture")


def test_one_term_misses_the_published_solid() -> None:
    # One-term exponential: k 0.278189, root mean square error 0.0521.
    times, lost = np.array(HOURS[1:], dtype=float), GRAMS[0] - np.array(GRAMS[1:], dtype=float)
    found = drying._least_squares(times, lost, (989.0, 989.0), exponent=1.0)
    assert math.exp(found.ln_k) == pytest.approx(0.278189, abs=5e-7)
    assert math.sqrt(found.squares / len(HOURS)) / 989 == pytest.approx(0.0521, abs=5e-5)


def test_scipy_finds_the_same_curve_and_the_same_uncertainty() -> None:
    times, left = np.array(HOURS[1:], dtype=float), (np.array(GRAMS[1:], dtype=float) - 3955) / 989
    (ln_k, ln_n), covariance = curve_fit(
        lambda t, a, b: np.exp(-np.exp(a) * t ** np.exp(b)), times, left, p0=(-1.0, 0.1)
    )
    curve = fit_drying(HOURS, GRAMS, RULES.fit, final_grams=3955.0)
    assert (math.log(curve.k), math.log(curve.n)) == pytest.approx((ln_k, ln_n), abs=1e-6)
    assert np.array(curve.spread)[:2, :2] == pytest.approx(covariance, rel=1e-4)


@pytest.mark.parametrize("n", [1.0, 1.25])
def test_hours_to_dry_are_where_the_daily_loss_falls_below_a_fifth_of_a_percent(n: float) -> None:
    answer = dry({"weighings": daily(80, 12, 0.02, n, 8), "final_grams": 68.0})
    hours = answer.hours_to_dry.typical

    def weight(at: float) -> float:
        return 68 + 12 * math.exp(-0.02 * at**n)

    loss = 100 * (weight(hours - 0.5) - weight(hours + 0.5)) * 24 / weight(hours)
    assert loss == pytest.approx(0.2, abs=2e-3)
    assert answer.model == ("exponential" if n == 1.0 else "page")


def test_three_weighings_are_enough_and_two_are_not() -> None:
    weighings = daily(80, 12, 0.02, 1.2, 2)
    answer = dry({"weighings": weighings, "final_grams": 68})
    assert answer.parameters.n == pytest.approx(1.2, abs=1e-4)
    assert "scatter" in [note.id for note in answer.notes]
    with pytest.raises(InvalidRequest, match="needs 3"):
        dry({"weighings": weighings[:2], "final_grams": 68})


def test_the_final_weight_is_fitted_where_it_is_not_given() -> None:
    answer = dry({"weighings": daily(80, 12, 0.02, 1.0, 10)})
    assert answer.final_grams == pytest.approx(68, abs=0.01)
    assert "final-fitted" in [note.id for note in answer.notes]


def test_weighings_that_end_too_early_say_so() -> None:
    weighings = [{"hours": h, "grams": 80 - 0.05 * h} for h in (0.0, 2.0, 4.0, 6.0, 8.0)]
    answer = dry({"weighings": weighings, "recipe": FRESH})
    assert "final-early" in [note.id for note in answer.notes]


def test_intervals_hold_the_truth_about_as_often_as_they_say() -> None:
    random = np.random.default_rng(7)
    hours = np.array([0.0, 12, 24, 48, 72, 96, 144, 192, 240])
    truth = 68 + 12 * np.exp(-0.02 * hours**1.2)
    inside = 0
    rounds = 300
    for _ in range(rounds):
        grams = truth + np.concatenate([[0.0], random.normal(0, 0.05, len(hours) - 1)])
        curve = fit_drying(hours.tolist(), grams.tolist(), RULES.fit, final_grams=68.0)
        interval = curve.n_interval()
        inside += interval.low <= 1.2 <= interval.high
    assert 0.75 <= inside / rounds <= 0.85


def test_hours_count_from_the_first_weighing() -> None:
    later = [{"hours": w["hours"] + 5, "grams": w["grams"]} for w in daily(80, 12, 0.02, 1.2, 8)]
    moved = dry({"weighings": later, "final_grams": 68.0})
    assert moved.parameters == dry({"weighings": daily(80, 12, 0.02, 1.2, 8), "final_grams": 68.0}).parameters
    assert "start" in [note.id for note in moved.notes]


@pytest.mark.parametrize(
    ("body", "where"),
    [
        ({"weighings": [*SOLID[:3], SOLID[2]]}, "/weighings/3/hours"),
        ({"weighings": [{"hours": h, "grams": 80.0} for h in (0.0, 1.0, 2.0)]}, "/weighings/2/grams"),
        ({"weighings": SOLID, "final_grams": 5000.0}, "/final_grams"),
        ({"weighings": SOLID, "final_grams": 1.05 * SOLID[-1]["grams"]}, "/final_grams"),
        ({"weighings": SOLID, "final_grams": 3900.0, "dry_grams": 3950.0}, "/dry_grams"),
        ({"weighings": SOLID, "dry_grams": 3990.0}, "/dry_grams"),
        ({"body": {"thickness_mm": 25.0}}, "/recipe"),
        ({}, "/weighings"),
    ],
)
def test_weighings_that_cannot_be_are_refused_by_place(body: dict[str, Any], where: str) -> None:
    with pytest.raises(InvalidRequest) as caught:
        dry(body)
    assert [fault.where for fault in caught.value.faults] == [where]


def test_what_is_said_of_waiting_follows_the_hours() -> None:
    fast, slow = (dry({"weighings": daily(80, 12, k, 1.0, 8), "final_grams": 68.0}) for k in (0.4, 0.01))
    assert fast.hours_to_dry.high < 48 < slow.hours_to_dry.high
    assert "already" in {note.id for note in fast.notes}
    assert "handling" in {note.id for note in slow.notes}


def test_a_broken_recipe_is_refused() -> None:
    with pytest.raises(InvalidRecipe):
        dry({"weighings": SOLID, "recipe": {"lines": [{"material": "kaolin", "percent": 90}]}})


def test_without_scipy_the_extra_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(drying, "find_spec", lambda name: None)
    with pytest.raises(NotInstalled, match=r"dough-advisor\[fit\]"):
        dry({"weighings": SOLID, "final_grams": 3955})


@pytest.mark.parametrize(
    ("shape", "early"),
    [
        # Crank, The Mathematics of Diffusion, short times, F = D t / L^2.
        ("slab", lambda f: 1 - 2 * math.sqrt(f / math.pi)),
        ("cylinder", lambda f: 1 - 4 * math.sqrt(f / math.pi) + f + f**1.5 / (3 * math.sqrt(math.pi))),
        ("sphere", lambda f: 1 - 6 * math.sqrt(f / math.pi) + 3 * f),
    ],
)
def test_series_meet_the_solution_for_short_times(shape: Any, early: Any) -> None:
    _, _, left = first_guess(shape, 10.0, Interval(10.0, 12.0, 14.0), RULES)
    for fourier in (0.02, 0.05):
        hours = fourier * 0.010**2 / 2e-10 / 3600
        assert left(hours, 2e-10) == pytest.approx(early(fourier), abs=2e-3)


def test_a_first_guess_is_an_estimate_of_days_and_says_so() -> None:
    answer = dry({"recipe": FRESH, "body": {"thickness_mm": 25.0, "grams": 80.0}, "room_rh": 50})
    assert answer.model == "diffusion"
    assert answer.basis == "estimate"
    assert answer.fit is None
    days = answer.hours_to_dry.typical / 24
    assert 5 <= days <= 12
    assert answer.hours_to_dry.low < answer.hours_to_dry.typical < answer.hours_to_dry.high
    assert "few" in [note.id for note in answer.notes]
    thick = dry({"recipe": FRESH, "body": {"thickness_mm": 40.0, "grams": 80.0}})
    assert thick.hours_to_dry.typical > answer.hours_to_dry.typical


def test_the_dried_bar_is_the_fresh_one_less_its_water() -> None:
    # 80 g fresh, 72 g dry: 10 % lost. By hand, of 100 g of dough: isethionate 0.84 x 55 + betaine 0.30 x 20
    # = 52.2 g active in 90 g: 58 %. Aqua of the compositions 0.01 x 55 + 0.64 x 20 + 0.005 x 5 = 13.375 g.
    answer = dry({"weighings": daily(80, 8, 0.02, 1.2, 10), "final_grams": 72.0, "recipe": FRESH})
    assert answer.dried is not None
    assert answer.dried.totals is not None
    assert answer.dried.composition is not None
    assert answer.dried.mass_left == 90.0
    assert answer.dried.totals.as_dried.active == pytest.approx(58.0, abs=0.01)
    assert sum(answer.dried.composition.values()) == pytest.approx(100, abs=0.01)
    assert answer.dried.composition["Sodium Cocoyl Isethionate"] == pytest.approx(46.2 / 0.9, abs=0.01)
    assert answer.dried.composition["Aqua"] == pytest.approx(3.375 / 0.9, abs=0.01)
    assert answer.dried.composition["Kaolin"] == pytest.approx(12 / 0.9, abs=0.01)


def test_a_bar_that_lost_more_than_its_water_is_questioned() -> None:
    answer = dry({"weighings": daily(80, 30, 0.02, 1.0, 10), "final_grams": 50.0, "recipe": FRESH})
    assert "over" in [note.id for note in answer.notes]


def test_forty_percent_glycerol_has_the_tabled_water_activity() -> None:
    # Norrish, constant 1.16 for glycerol: 0.8711.
    assert norrish_activity((60 / 18.015) / (60 / 18.015 + 40 / 92.09), 1.16) == pytest.approx(
        0.8711, abs=5e-5
    )
    assert water_activity({"Glycerin": 40.0}, 60.0, RULES) == pytest.approx(0.8711, abs=5e-4)


def test_held_water_rises_with_humidity_and_returns_its_own_activity() -> None:
    parts = {"Glycerin": 5.0, "Zea Mays Starch": 10.0, "Kaolin": 15.0}
    held = [held_water(parts, share / 20, RULES) for share in range(1, 20)]
    assert held == sorted(held)
    for activity in (0.2, 0.5, 0.8):
        water = held_water(parts, activity, RULES)
        assert water_activity(parts, water, RULES) == pytest.approx(activity, abs=1e-6)
    assert water_activity(parts, 9000.0, RULES) == 1.0
    assert water_activity({"Sodium Cocoyl Isethionate": 50.0}, 5.0, RULES) == 1.0
    assert water_activity(parts, 0.0, RULES) == 0.0


def test_the_water_activity_of_a_bar_carries_its_uncertainty() -> None:
    answer = dry(
        {"weighings": daily(80, 8, 0.02, 1.2, 10), "final_grams": 72.0, "recipe": FRESH, "room_rh": 60}
    )
    assert answer.dried is not None
    estimate = answer.dried.water_activity
    assert estimate is not None
    assert estimate.low < estimate.typical <= estimate.high <= 1
    assert "held" in [note.id for note in answer.notes]


@pytest.mark.parametrize(("grams", "by_hand"), [(50, 7.0), (200, 3.25), (1000, 2.25), (3000, 2.0833)])
def test_a_loss_by_hand_is_two_percent_and_two_and_a_half_grams(grams: float, by_hand: float) -> None:
    lost = loss_percent(grams, RULES.loss)
    assert lost.typical == pytest.approx(by_hand, abs=1e-4)
    assert lost.low < lost.typical < lost.high


def test_the_practice_at_the_bench_lies_within_the_losses() -> None:
    small, large = loss_percent(50, RULES.loss), loss_percent(3000, RULES.loss)
    assert (round(small.low), round(small.high)) == (6, 8)
    assert (round(large.low), round(large.high)) == (2, 3)
    assert loss_percent(3000, RULES.loss, "mixer").typical == pytest.approx(1.5 + 4000 / 3000)
    assert loss_percent(1, RULES.loss).high == 100


def test_the_band_of_the_curve_is_that_of_its_parameters() -> None:
    # One-term curve, ln k known within 10 %: at k t = 1 the weight moves by 15 g x 0.1 / e = 0.5518 g.
    spread = ((0.01, 0.0, 0.0), (0.0, 0.0, 0.0), (0.0, 0.0, 0.0))
    curve = DryingCurve("exponential", 100.0, 85.0, 0.02, 1.0, 0.0, 1.0, spread, 1.0, False, False, False)
    low, high = curve.grams_between(50.0)
    assert (low, high) == pytest.approx(
        (curve.grams_at(50.0) - 0.5518, curve.grams_at(50.0) + 0.5518), abs=1e-4
    )
    assert curve.grams_between(0.0) == (100.0, 100.0)


def test_a_bar_is_filled_for_its_dry_weight() -> None:
    # 60 g dry at 82 to 88 % left: 68.18 to 73.17 g of dough, plus 1 to 2 g.
    found = filling(60.0, Interval(82.0, 85.0, 88.0), 1000.0, loss_percent(1000.0, RULES.loss), RULES.fill)
    assert found.dough_grams.low == pytest.approx(60 / 0.88 + 1)
    assert found.dough_grams.high == pytest.approx(60 / 0.82 + 2)
    assert found.bars == 13


def test_a_bar_already_dry_needs_no_hours() -> None:
    curve = fit_drying([0, 24, 48, 72], [80, 79.95, 79.91, 79.88], RULES.fit, final_grams=79.8)
    assert hours_to_dry(curve, 0.2) == Interval(0.0, 0.0, 0.0)


@pytest.mark.parametrize(
    ("odd", "at", "named"),
    [
        ([(0, 78.4), (24, 76.2), (48, 77.9), (72, 75.0)], 2, "77.9 g at 48 h"),
        ([(0, 80.0), (24, 79.0), (48, 77.0), (72, 73.0)], 2, "77 g at 48 h"),
        ([(0, 80.0), (500, 79.99), (501, 40.0), (1000, 39.9)], 2, "40 g at 501 h"),
        ([(0, 80.0), (24, 76.0), (48, 74.0), (72, 70.0)], 3, "70 g at 72 h"),
    ],
)
def test_weighings_that_rise_or_accelerate_are_refused_by_name(
    odd: list[tuple[float, float]], at: int, named: str
) -> None:
    with pytest.raises(InvalidRequest) as caught:
        dry({"weighings": [{"hours": h, "grams": g} for h, g in odd], "final_grams": 15})
    assert [fault.where for fault in caught.value.faults] == [f"/weighings/{at}/grams"]
    assert named in str(caught.value)


@pytest.mark.parametrize("n", [0.8, 1.0, 1.2, 1.4])
@pytest.mark.parametrize("k", [0.005, 0.02, 0.05])
def test_the_scatter_of_a_balance_is_no_rise(n: float, k: float) -> None:
    random = np.random.default_rng(3)
    for _ in range(20):
        weighings = daily(80, 9, k, n, 10)
        for weighing in weighings:
            weighing["grams"] = round(float(weighing["grams"] + random.normal(0, 0.04)), 1)
        assert dry({"weighings": weighings, "recipe": FRESH}).parameters.k > 0


@pytest.mark.parametrize("hours", [(0, 6, 12), (0, 6, 12, 23.9)])
def test_less_than_a_day_foretells_nothing(hours: tuple[float, ...]) -> None:
    weighings = [{"hours": h, "grams": 80 - 12 * (1 - math.exp(-0.02 * h))} for h in hours]
    answer = dry({"weighings": weighings, "recipe": FRESH})
    assert answer.basis == "estimate"
    assert "too-short" in [note.id for note in answer.notes]
    assert answer.final_grams is None
    assert answer.dried is not None
    assert answer.dried.grams is None
    assert answer.curve[-1].hours == pytest.approx(hours[-1], abs=0.01)
    assert answer.hours_to_dry.high > 2 * answer.hours_to_dry.low


@pytest.mark.parametrize("k", [0.004, 0.008, 0.02, 0.05, 0.2])
@pytest.mark.parametrize("days", [2, 4, 8])
def test_a_forecast_reaches_three_times_what_was_observed(k: float, days: int) -> None:
    answer = dry({"weighings": daily(80, 10, k, 1.0, days), "recipe": FRESH})
    own = answer.basis == "own"
    assert own == (answer.hours_to_dry.typical <= 72 * days and answer.final_grams is not None)
    assert ("beyond" in [note.id for note in answer.notes]) == (not own)
    assert answer.curve[-1].hours <= 72 * days + 0.01
    if not own:
        assert answer.dried is not None
        assert (answer.final_grams, answer.dried.grams) == (None, None)
        assert answer.hours_to_dry.low >= 24 * days


@pytest.mark.parametrize("leaving", [6.0, 10.0, 13.0, 13.2])
@pytest.mark.parametrize("days", [2, 4, 8])
def test_no_bar_is_lighter_than_its_solids(leaving: float, days: int) -> None:
    water = dry({"weighings": daily(80, 6, 0.02, 1.0, 8), "recipe": FRESH}).dried
    assert water is not None
    assert water.totals is not None
    solids = 80 * (100 - water.totals.water) / 100
    answer = dry({"weighings": daily(80, min(leaving, 80 - solids - 0.01), 0.02, 1.0, days), "recipe": FRESH})
    assert answer.final_grams is None or answer.final_grams >= solids - 0.01


@pytest.mark.parametrize("n", [1.0, 1.2, 1.4])
@pytest.mark.parametrize("days", [3, 4, 6])
def test_the_interval_covers_the_choice_of_the_curve(n: float, days: int) -> None:
    k = 0.03**n
    truth = hours_to_dry(
        DryingCurve("page", 80.0, 69.0, k, n, 0.0, 1.0, ((0.0,) * 3,) * 3, 1.28, False, False, False), 0.2
    ).typical
    answer = dry({"weighings": daily(80, 11, k, n, days), "recipe": FRESH})
    if answer.basis == "own":
        assert answer.hours_to_dry.low <= truth * 1.02
        assert truth * 0.98 <= answer.hours_to_dry.high


def test_a_day_of_making_gives_dates() -> None:
    weighings = daily(80, 12, 0.02, 1.0, 8)
    answer = dry({"weighings": weighings, "final_grams": 68.0, "made_on": "2026-03-01"})
    dates = answer.dates
    assert dates is not None
    assert dates.handle.isoformat() == "2026-03-03"
    assert dates.weigh_next.isoformat() == "2026-03-10"
    assert dates.sell.earliest <= dates.sell.typical <= dates.sell.latest
    days = math.ceil(answer.hours_to_dry.typical / 24)
    assert (dates.sell.typical - dates.handle).days == days - 2
    assert dates.wrap == dates.sell.typical
    assert dry({"weighings": weighings, "final_grams": 68.0}).dates is None


def test_before_three_weighings_the_dates_are_the_wide_ones_of_a_slab() -> None:
    none = dry({"recipe": FRESH, "made_on": "2026-03-01"})
    assert none.model == "diffusion"
    assert none.dates is not None
    assert none.dates.weigh_next.isoformat() == "2026-03-02"
    assert (none.dates.sell.latest - none.dates.sell.earliest).days >= 7
    two = dry({"recipe": FRESH, "made_on": "2026-03-01", "weighings": daily(80, 12, 0.02, 1.0, 1)})
    assert two.dates is not None
    assert two.dates.weigh_next.isoformat() == "2026-03-03"
    assert two.dates.sell == none.dates.sell
    later = [{"hours": w["hours"] + 30, "grams": w["grams"]} for w in daily(80, 12, 0.02, 1.0, 8)]
    moved, plain = (
        dry({"weighings": of, "final_grams": 68.0, "made_on": "2026-03-01"}).dates
        for of in (later, daily(80, 12, 0.02, 1.0, 8))
    )
    assert moved is not None
    assert plain is not None
    assert moved.sell.typical > plain.sell.typical


def test_a_drop_between_two_weighings_leaves_its_rate_open() -> None:
    weighings = [{"hours": h, "grams": g} for h, g in ((0, 80.0), (24, 68.0), (500, 68.0), (900, 68.0))]
    answer = dry({"weighings": weighings, "final_grams": 68.0})
    assert answer.interval80.k.high / answer.interval80.k.low > 10
