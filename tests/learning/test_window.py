"""What past doughs teach: published and constructed references, and what must hold for any evidence."""

import csv
import importlib.util
import math
import warnings
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.optimize import approx_fprime, minimize
from scipy.special import expit, log_expit
from scipy.stats import norm

import advisor.learning.mode
from advisor.learning import Dough, Habit, LearningRules, Prior, choose_spread, class_chances, faded, learn

THRESHOLDS = (-0.15, -0.075, -0.035, 0.035, 0.075, 0.15)
RULES = LearningRules(
    outlier_doughs=4,
    outlier_chance=0.005,
    outlier_share=0.2,
    dispersion_doughs=6,
    dispersion_excess=1.5,
    spread_doughs=20,
)


def prior(spread=0.03, **demand_sds):
    return Prior(thresholds=THRESHOLDS, spread=spread, centre_sd=0.2, demand_sds=demand_sds)


def minus_log_posterior(doughs, belief, powders):
    """Written from the definition, class probability by class probability, apart from the module."""
    edges = np.array([-math.inf, *belief.thresholds, math.inf])
    shares = np.array([[dough.shares.get(powder, 0.0) for powder in powders] for dough in doughs])
    index = np.array([dough.log_index for dough in doughs])
    outcome = np.array([dough.outcome for dough in doughs])
    weight = np.array([dough.weight for dough in doughs])
    means = np.array([belief.centre, *(belief.demand_means.get(powder, 0.0) for powder in powders)])
    sds = np.array([belief.centre_sd, *(belief.demand_sds[powder] for powder in powders)])

    def objective(unknowns):
        eta = index - unknowns[0] - shares @ unknowns[1:]
        upper, lower = (edges[outcome] - eta) / belief.spread, (edges[outcome - 1] - eta) / belief.spread
        chance = np.where(lower > 0, expit(-lower) - expit(-upper), expit(upper) - expit(lower))
        return -weight @ np.log(chance) + 0.5 * (((unknowns - means) / sds) ** 2).sum()

    return objective


def invented(seed, count=12, powders=4, spread=0.03):
    """Doughs of a maker drawn from the prior."""
    rng = np.random.default_rng(seed)
    names = [f"powder-{place}" for place in range(powders)]
    demands, centre = rng.normal(0, 0.3, powders), rng.normal(0, 0.2)
    doughs = []
    for _ in range(count):
        shares = rng.dirichlet(np.full(powders, 2.0))
        distance = rng.normal(0, 0.1)
        judged = distance + spread * rng.logistic()
        doughs.append(
            Dough(
                log_index=float(centre + shares @ demands + distance),
                shares=dict(zip(names, shares.tolist(), strict=True)),
                outcome=int(np.searchsorted(THRESHOLDS, judged)) + 1,
                weight=float(rng.uniform(0.3, 1.0)),
            )
        )
    return doughs, prior(spread, **dict.fromkeys(names, 0.3))


def test_constructed_reference():
    # Constructed for this project; BFGS and Nelder-Mead of SciPy agree on every figure to 1e-8.
    belief = Prior(
        thresholds=(-0.40, -0.14, 0.14, 0.40),
        spread=0.10,
        centre=math.log(0.345),
        centre_sd=0.20,
        demand_sds={"clay": 0.25},
    )
    ratios = (0.26, 0.30, 0.33, 0.36, 0.40, 0.30, 0.34, 0.38, 0.44, 0.36)
    shares = (0, 0, 0, 0, 0, 0.3, 0.3, 0.3, 0.3, 0.5)
    classes = (2, 3, 3, 3, 4, 2, 2, 3, 4, 2)
    doughs = [Dough(math.log(w), {"clay": x}, y) for w, x, y in zip(ratios, shares, classes, strict=True)]
    window = learn(doughs, belief)
    assert window.mean == pytest.approx([-1.0594154, 0.2569514], abs=5e-8)
    assert window.objective == pytest.approx(7.8376453, abs=5e-8)
    assert np.sqrt(np.diag(window.covariance)) == pytest.approx([0.06202, 0.19475], abs=5e-6)
    assert window.covariance[0, 1] == pytest.approx(-0.0057979, abs=5e-8)
    assert window.support == {"clay": 5}
    at_the_mode = class_chances(math.log(0.35) - window.centre({})[0], 0.0, belief.thresholds, belief.spread)
    assert at_the_mode == pytest.approx((0.0164, 0.1667, 0.6035, 0.1937, 0.0198), abs=5e-5)


def graduate_school():
    """400 students; their data ship with statsmodels as ologit_ucla.csv."""
    package = Path(importlib.util.find_spec("statsmodels").origin).parent
    table = package / "miscmodels" / "tests" / "results" / "ologit_ucla.csv"
    classes = {"unlikely": 1, "somewhat likely": 2, "very likely": 3}
    with table.open(encoding="utf-8", newline="") as lines:
        rows = list(csv.DictReader(lines))
    doughs = [
        Dough(0.0, {name: float(row[name]) for name in ("pared", "public", "gpa")}, classes[row["apply"]])
        for row in rows
    ]
    assert len(doughs) == 400
    return doughs


def nearly_flat(cuts):
    """A fixed centre and demands left free: a shift of demand is a slope with its sign turned."""
    return Prior(
        thresholds=tuple(cuts),
        spread=1.0,
        centre_sd=1e-5,
        demand_sds=dict.fromkeys(("pared", "public", "gpa"), 1e4),
    )


# UCLA Statistical Consulting, Ordinal logistic regression; the same figures stand in the reference results of
# statsmodels (miscmodels/tests/results/results_ordinal_model.py).
SLOPES = {"pared": 1.0477, "public": -0.0587, "gpa": 0.6157}
CUTS = (2.2033, 4.2988)
LOG_LIKELIHOOD = -358.51244


def test_graduate_school_slopes_at_the_published_cuts():
    window = learn(graduate_school(), nearly_flat(CUTS))
    assert window.objective == pytest.approx(-LOG_LIKELIHOOD, abs=1e-3)
    for name, slope in SLOPES.items():
        assert -window.demand(name)[0] == pytest.approx(slope, abs=1e-3)


def test_graduate_school_cuts_are_where_the_likelihood_is_greatest():
    doughs = graduate_school()
    best = minimize(lambda cuts: learn(doughs, nearly_flat(cuts)).objective, (2.0, 4.0), method="Nelder-Mead")
    assert best.x == pytest.approx(CUTS, abs=1e-3)
    assert best.fun == pytest.approx(-LOG_LIKELIHOOD, abs=1e-3)


def test_graduate_school_agrees_with_statsmodels():
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        from statsmodels.miscmodels.ordinal_model import OrderedModel

        doughs = graduate_school()
        table = np.array([list(dough.shares.values()) for dough in doughs])
        fit = OrderedModel([dough.outcome for dough in doughs], table, distr="logit").fit(
            method="newton", disp=0, tol=1e-10
        )
    cuts = (fit.params[3], fit.params[3] + math.exp(fit.params[4]))
    window = learn(doughs, nearly_flat(cuts))
    assert window.objective == pytest.approx(-fit.llf, abs=1e-6)
    slopes = [-window.demand(name)[0] for name in ("pared", "public", "gpa")]
    assert slopes == pytest.approx(fit.params[:3], abs=1e-4)


@pytest.mark.parametrize("seed", range(12))
def test_mode_agrees_with_scipy(seed):
    doughs, belief = invented(seed)
    window = learn(doughs, belief)
    objective = minus_log_posterior(doughs, belief, window.powders)
    found = minimize(objective, np.zeros(5), method="BFGS", options={"gtol": 1e-7, "maxiter": 2000})
    found = minimize(objective, found.x, method="Nelder-Mead", options={"xatol": 1e-9, "fatol": 1e-12})
    assert window.objective == pytest.approx(found.fun, abs=1e-8)
    assert window.objective == pytest.approx(objective(window.mean), abs=1e-9)
    assert window.mean == pytest.approx(found.x, abs=1e-5)


@pytest.mark.parametrize("seed", range(4))
def test_gradient_vanishes_and_covariance_is_the_inverse_curvature(seed):
    doughs, belief = invented(seed)
    window = learn(doughs, belief)
    objective = minus_log_posterior(doughs, belief, window.powders)

    def gradient(point):
        steps = 1e-6 * np.eye(len(point))
        return np.array([(objective(point + step) - objective(point - step)) / 2e-6 for step in steps])

    assert gradient(window.mean) == pytest.approx(np.zeros(5), abs=1e-5)
    hessian = approx_fprime(window.mean, gradient, 1e-5)
    assert window.covariance @ hessian == pytest.approx(np.eye(5), abs=2e-2)
    assert np.array_equal(window.covariance, window.covariance.T)


@pytest.mark.parametrize("seed", range(6))
def test_objective_is_convex_along_any_line(seed):
    doughs, belief = invented(seed)
    rng = np.random.default_rng(seed)
    objective = minus_log_posterior(doughs, belief, learn(doughs, belief).powders)
    for _ in range(50):
        one, other = rng.normal(0, 0.3, (2, 5))
        assert objective(0.5 * (one + other)) < 0.5 * (objective(one) + objective(other))


def test_order_of_doughs_and_of_powders_does_not_matter():
    doughs, belief = invented(3, count=30)
    turned = [replace(dough, shares=dict(reversed(dough.shares.items()))) for dough in reversed(doughs)]
    one, other = learn(doughs, belief, RULES), learn(turned, belief, RULES)
    assert one.powders == other.powders
    assert other.mean == pytest.approx(one.mean, abs=1e-10)
    assert other.covariance == pytest.approx(one.covariance, abs=1e-12)
    assert other.dispersion == pytest.approx(one.dispersion, abs=1e-10)
    assert choose_spread(turned, belief, 0.02, 0.08) == pytest.approx(
        choose_spread(doughs, belief, 0.02, 0.08)
    )


def test_without_doughs_the_prior_comes_back():
    belief = replace(prior(clay=0.3, starch=0.4), centre=0.05, demand_means={"starch": 0.1})
    window = learn([], belief, RULES)
    assert window.centre({}) == (0.05, 0.2)
    assert window.centre({"starch": 0.5, "isethionate": 0.5}) == pytest.approx((0.10, math.hypot(0.2, 0.2)))
    assert window.demand("starch") == (0.1, 0.4)
    assert window.demand("isethionate") == (0.0, 0.0)
    assert (window.objective, window.support, window.outliers, window.contradicted) == (0.0, {}, (), False)
    assert choose_spread([], belief, 0.02, 0.08) == 0.03


def test_a_powder_no_dough_carried_keeps_its_prior_beside_what_was_learned():
    window = learn([Dough(0.0, {"clay": 1.0}, 4)] * 3, prior(clay=0.3, starch=0.4))
    with_clay = window.centre({"clay": 0.5})
    with_both = window.centre({"clay": 0.5, "starch": 0.5})
    assert with_both[0] == with_clay[0]
    assert with_both[1] == pytest.approx(math.hypot(with_clay[1], 0.2))


@pytest.mark.parametrize(
    ("outcome", "target"), [(1, 1.20), (2, 1.10), (3, 1.05), (5, 0.95), (6, 0.90), (7, 0.80)]
)
def test_first_dough_at_the_centre_agrees_with_the_steps_of_the_bench(outcome, target):
    # Practice: a little, clearly, badly move the liquid by a twentieth, a tenth, a fifth.
    centre = math.exp(learn([Dough(0.0, {}, outcome)], prior(), RULES).centre({})[0])
    assert centre == pytest.approx(target, abs=0.03)
    assert (centre - 1) * (target - 1) > 0


@pytest.mark.parametrize("count", [1, 2, 3])
def test_the_first_doughs_are_obeyed_however_unlikely(count):
    window = learn([Dough(1.0, {}, 1)] + [Dough(0.0, {}, 4)] * (count - 1), prior(), RULES)
    assert (window.outliers, window.dispersion, window.contradicted) == ((), 1.0, False)


@pytest.mark.parametrize("log_index", [2.0, -2.0, 14.0, -14.0, 500.0])
@pytest.mark.parametrize("outcome", [1, 4, 7])
def test_a_report_far_off_still_converges(log_index, outcome):
    doughs, belief = invented(5)
    for evidence in (
        [Dough(log_index, {"powder-1": 0.6}, outcome)],
        [*doughs, Dough(log_index, {}, outcome)],
    ):
        window = learn(evidence, belief, RULES)
        mean, sd = window.centre({"powder-1": 0.6})
        assert math.isfinite(mean)
        assert 0 < sd <= math.hypot(0.2, 0.18) + 1e-12
        assert math.isfinite(window.objective)
        assert math.isfinite(window.dispersion)


def test_doughs_that_could_not_disagree_more_leave_the_prior_width():
    doughs = [Dough(5.0, {"clay": 0.5}, 1), Dough(-5.0, {"clay": 0.5}, 7)] * 250
    window = learn(doughs, prior(clay=0.3), RULES)
    assert window.contradicted
    assert not window.set_aside
    assert len(window.outliers) == 500
    mean, sd = window.centre({"clay": 0.5})
    assert mean == pytest.approx(0.0, abs=1e-6)
    assert sd == pytest.approx(math.hypot(0.2, 0.15))
    assert window.demand("clay")[1] == pytest.approx(0.3)


def test_an_outlier_is_flagged_and_not_obeyed():
    steady = [Dough(x, {}, y) for x, y in ((-0.1, 2), (-0.05, 3), (0.0, 4), (0.02, 4), (0.06, 5), (0.1, 6))]
    blunder = Dough(0.25, {}, 1)
    window = learn([*steady, blunder], prior(), RULES)
    assert window.outliers == (6,)
    assert window.set_aside
    assert window.mean == pytest.approx(learn(steady, prior()).mean, abs=1e-9)


def test_too_many_outliers_are_a_contradiction_and_widen_the_interval():
    doughs = [Dough(0.0, {}, 4)] * 4 + [Dough(0.25, {}, 1), Dough(0.25, {}, 1), Dough(-0.25, {}, 7)]
    window = learn(doughs, prior(), RULES)
    assert len(window.outliers) == 3
    assert not window.set_aside
    assert window.dispersion > 1
    assert window.widening == pytest.approx(math.sqrt(window.dispersion))
    obeyed = learn(doughs, prior())
    assert window.centre({})[0] == obeyed.centre({})[0]
    assert window.centre({})[1] == pytest.approx(obeyed.centre({})[1] * window.widening)
    low, high = window.interval({}, 0.8)
    assert high - low == pytest.approx(2 * norm.ppf(0.9) * window.centre({})[1])


def test_powders_carried_only_by_outliers_fall_back_on_the_prior():
    steady = [Dough(0.0, {"clay": 0.3}, 4)] * 6
    window = learn([*steady, Dough(3.0, {"starch": 1e-9}, 1)], prior(clay=0.3, starch=0.4), RULES)
    assert window.support == {"clay": 6, "starch": 0}
    assert window.demand("starch") == pytest.approx((0.0, 0.4))


def test_weights_count_like_repeated_doughs_and_nothing_at_zero():
    doughs, belief = invented(8)
    twice = learn([replace(dough, weight=0.5) for dough in doughs for _ in range(2)], belief)
    once = learn([replace(dough, weight=1.0) for dough in doughs], belief)
    assert twice.mean == pytest.approx(once.mean, abs=1e-9)
    nothing = learn([replace(dough, weight=0.0) for dough in doughs], belief)
    assert nothing.mean == pytest.approx(np.zeros(5), abs=1e-12)


def test_a_measured_demand_is_evidence_and_not_a_fact():
    doughs = [Dough(0.0, {"clay": 1.0}, 4)] * 10
    believed = replace(prior(clay=0.1), demand_means={"clay": 0.3})
    delta, sd = learn(doughs, believed).demand("clay")
    assert 0.1 < delta < 0.3
    assert sd < 0.1


def test_a_method_is_partly_pooled_as_a_key_of_its_own():
    doughs = [Dough(0.0, {}, 4)] * 10 + [Dough(0.0, {"method:mixer": 1.0}, 6)] * 10
    window = learn(doughs, prior(**{"method:mixer": 0.1}))
    by_hand, by_mixer = window.centre({})[0], window.centre({"method:mixer": 1.0})[0]
    assert by_hand == pytest.approx(0.0, abs=0.02)
    assert by_mixer == pytest.approx(-0.1, abs=0.03)


@pytest.mark.parametrize("sd", [0.0, 0.001, 0.0299, 0.0301, 0.1, 0.35, 30.0])
@pytest.mark.parametrize("distance", [-0.4, 0.0, 0.06, 5.0])
def test_chances_are_the_integral(sd, distance):
    chances = class_chances(distance, sd, THRESHOLDS, 0.03)
    assert sum(chances) == pytest.approx(1.0, abs=1e-12)
    assert all(0 <= chance <= 1 for chance in chances)
    for border, below in zip(THRESHOLDS, np.cumsum(chances), strict=False):
        if sd == 0:
            exact = expit((border - distance) / 0.03)
        else:
            exact, _ = quad(
                lambda x, at=border: norm.cdf((at - distance - 0.03 * x) / sd) * expit(x) * expit(-x),
                -40,
                40,
                points=sorted({0.0, float(np.clip((border - distance) / 0.03, -39, 39))}),
                limit=400,
                epsabs=1e-11,
            )
        assert below == pytest.approx(exact, abs=1e-6)


def test_windows_chances_include_what_is_not_known():
    window = learn([Dough(0.0, {"clay": 0.4}, 4)] * 5, prior(clay=0.3))
    mean, sd = window.centre({"clay": 0.4})
    assert window.chances(0.02, {"clay": 0.4}) == class_chances(0.02 - mean, sd, THRESHOLDS, 0.03)
    assert sum(window.chances(0.02, {"clay": 0.4})) == pytest.approx(1.0, abs=1e-12)
    assert window.chances(0.0, {"clay": 0.4})[3] > learn([], prior(clay=0.3)).chances(0.0, {"clay": 0.4})[3]


def test_chance_of_a_window_at_the_mode_by_hand():
    # F((.035)/.03) - F(-.035/.03) = 0.76254 - 0.23746
    assert class_chances(0.0, 0.0, THRESHOLDS, 0.03)[3] == pytest.approx(0.52508, abs=1e-5)


def test_interval_covers_the_true_centre():
    # 1 000 makers drawn from the prior, 10 doughs each: the 80 % interval must cover 77..83 %.
    inside = widened = 0
    rng = np.random.default_rng(20)
    for seed in range(1000):
        maker = np.random.default_rng([20, seed])
        demands, centre = maker.normal(0, 0.3, 5), maker.normal(0, 0.2)
        usual = maker.dirichlet((6, 2, 2, 1.5, 1))
        doughs = []
        for _ in range(10):
            shares = rng.dirichlet(40 * usual)
            distance = rng.normal(0, 0.1)
            outcome = int(np.searchsorted(THRESHOLDS, distance + 0.03 * rng.logistic())) + 1
            names = dict(zip("abcde", shares.tolist(), strict=True))
            doughs.append(Dough(float(centre + shares @ demands + distance), names, outcome))
        window = learn(doughs, prior(**dict.fromkeys("abcde", 0.3)), RULES)
        low, high = window.interval(dict(zip("abcde", usual.tolist(), strict=True)), 0.8)
        inside += low <= centre + usual @ demands <= high
        widened += window.contradicted
    assert 770 <= inside <= 830
    assert widened < 150


@pytest.mark.parametrize("true_spread", [0.025, 0.04, 0.06])
def test_spread_is_found_from_many_doughs(true_spread):
    doughs, belief = invented(11, count=1500, spread=true_spread)
    chosen = choose_spread(
        [replace(dough, weight=1.0) for dough in doughs], replace(belief, spread=0.03), 0.02, 0.08
    )
    assert chosen == pytest.approx(true_spread, rel=0.12)


def test_spread_is_where_the_laplace_evidence_is_greatest():
    doughs, belief = invented(4, count=60, spread=0.04)

    def minus_evidence(spread):
        window = learn(doughs, replace(belief, spread=float(spread)))
        return window.objective - 0.5 * np.linalg.slogdet(window.covariance)[1]

    grid = np.geomspace(0.02, 0.08, 400)
    best = grid[np.argmin([minus_evidence(spread) for spread in grid])]
    assert choose_spread(doughs, belief, 0.02, 0.08) == pytest.approx(best, rel=0.062)


def test_spread_waits_for_enough_doughs():
    doughs, belief = invented(4, count=19, spread=0.06)
    assert choose_spread(doughs, replace(belief, spread=0.03), 0.02, 0.08, RULES) == 0.03
    assert choose_spread(doughs, replace(belief, spread=0.03), 0.02, 0.08) != 0.03


def test_faded():
    assert [faded(days, 30.0) for days in (-5, 0, 30, 60)] == [1.0, 1.0, 0.5, 0.25]
    with pytest.raises(ValueError, match="half_life_days"):
        faded(10, 0.0)


@pytest.mark.parametrize(
    ("dough", "place"),
    [
        ({"log_index": math.nan}, "log_index"),
        ({"shares": {"clay": -0.1}}, "shares"),
        ({"shares": {"clay": math.inf}}, "shares"),
        ({"outcome": 0}, "outcome"),
        ({"weight": 1.5}, "weight"),
        ({"weight": math.nan}, "weight"),
        ({"width": 0.0}, "width"),
        ({"width": math.inf}, "width"),
    ],
)
def test_impossible_doughs_are_refused(dough, place):
    with pytest.raises(ValueError, match=place):
        Dough(**({"log_index": 0.0, "shares": {}, "outcome": 4} | dough))


def test_a_class_that_the_words_do_not_have_is_refused():
    with pytest.raises(ValueError, match="outcome"):
        learn([Dough(0.0, {}, 8)], prior(clay=0.3))


@pytest.mark.parametrize(
    ("change", "place"),
    [
        ({"thresholds": (0.1, 0.1)}, "thresholds"),
        ({"thresholds": ()}, "thresholds"),
        ({"spread": math.nan}, "spread"),
        ({"centre_sd": 0.0}, "centre_sd"),
        ({"demand_sds": {"clay": -1.0}}, "demand_sds"),
        ({"centre": math.inf}, "centre"),
        ({"demand_means": {"starch": 0.1}}, "demand_means"),
    ],
)
def test_impossible_priors_are_refused(change, place):
    with pytest.raises(ValueError, match=place):
        replace(prior(clay=0.3), **change)


@pytest.mark.parametrize(
    "change",
    [{"outlier_doughs": 1}, {"outlier_chance": 0.6}, {"outlier_share": 0.9}, {"dispersion_excess": -1.0}],
)
def test_impossible_rules_are_refused(change):
    with pytest.raises(ValueError, match=next(iter(change))):
        replace(RULES, **change)


def test_impossible_range_of_spreads_is_refused():
    with pytest.raises(ValueError, match="range"):
        choose_spread([], prior(), 0.08, 0.02)


def test_no_mode_is_an_error_and_never_an_answer(monkeypatch):
    monkeypatch.setattr(advisor.learning.mode, "_STEPS_AT_MOST", 0)
    with pytest.raises(ArithmeticError):
        learn([], prior())


def test_log_likelihood_identity_far_in_the_tail():
    # ln(F(u) - F(v)) = ln F(u) + ln F(-v) + ln(1 - exp(v - u)), with SciPy's log_expit 40 spreads off.
    window = learn([Dough(1.2, {}, 3)], replace(prior(), centre_sd=1e-6))
    upper, lower = (-0.035 - 1.2) / 0.03, (-0.075 - 1.2) / 0.03
    exact = -(log_expit(upper) + log_expit(-lower) + math.log(-math.expm1(lower - upper)))
    assert window.objective == pytest.approx(exact, rel=1e-6)


def test_few_doughs_do_not_carry_the_spread_far_from_the_usual():
    believed = prior(a=0.3)
    off = {rules: [] for rules in (RULES, replace(RULES, spread_log_sd=0.35))}
    for seed in range(40):
        rng = np.random.default_rng([61, seed])
        doughs = [
            Dough(float(x), {"a": 1.0}, int(np.searchsorted(THRESHOLDS, x + 0.03 * rng.logistic())) + 1)
            for x in rng.normal(0, 0.08, 20)
        ]
        for rules, found in off.items():
            found.append(math.log(choose_spread(doughs, believed, 0.02, 0.08, rules) / 0.03))
    alone, held = (float(np.square(found).mean()) for found in off.values())
    assert held < 0.6 * alone


@pytest.mark.parametrize("below", [0.1, 0.5, 0.9])
def test_a_quantile_of_some_habits_has_the_chance_asked_for_below_it(below):
    habits = (Habit(chance=0.7), Habit(chance=0.3, drift=0.05, memory=20.0))
    doughs = [Dough(x / 50, {}, 4) for x in range(12)]
    window = learn(doughs, replace(prior(), habits=habits))
    draws = np.concatenate(
        [
            np.random.default_rng(5).normal(mean[0], covariance[0, 0] ** 0.5, int(1e6 * habit.chance))
            for habit, mean, covariance in zip(habits, window.means, window.covariances, strict=True)
        ]
    )
    assert (draws < window.quantile({}, below)).mean() == pytest.approx(below, abs=2e-3)
    assert window.quantile({}, 0.5) != pytest.approx(window.centre({})[0], abs=1e-3)
