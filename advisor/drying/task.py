"""The drying task: how a bar dries, and what the dried bar consists of."""

from collections.abc import Callable, Mapping
from typing import Any

from advisor.drying.curve import DryingCurve, Interval
from advisor.drying.dates import drying_dates
from advisor.drying.diffusion import first_guess
from advisor.drying.fit import curves_not_ruled_out
from advisor.drying.forecast import Forecast, forecast, leaving
from advisor.drying.held_water import held_water, water_activity
from advisor.errors import Fault, InvalidRequest
from advisor.recipe.notebook import Notebook
from advisor.recipe.request import Formula, opened, read_formula
from advisor.rulebook.drying import DryingRules
from advisor.rulebook.load import Rulebook
from advisor.schema.drying import (
    BarBody,
    Bounds,
    CurvePoint,
    Dried,
    DryingAnswer,
    DryingDates,
    DryingFit,
    DryingParameters,
    DryingRequest,
    ParameterIntervals,
)
from advisor.schema.findings import AsDried, TextItem
from advisor.schema.material import Estimate

_FIGURES = 7
_WATER = "aqua"


def dry(
    request: DryingRequest | Mapping[str, Any],
    *,
    rulebook: Rulebook | None = None,
    notebook: Notebook | None = None,
) -> DryingAnswer:
    """Return the drying curve of a bar, when it is dry, and what it then consists of.

    Parameters
    ----------
    request : DryingRequest or mapping
        Three or more weighings of one bar; or its body, with a recipe, for a first guess.
    rulebook : Rulebook, optional
        Default: the packaged one.
    notebook : Notebook, optional
        What the shop knows besides: its own materials, doughs and measured demands.

    Raises
    ------
    InvalidRequest, InvalidRecipe, UnknownMaterial
    NotInstalled
        SciPy is missing (extra "fit").

    Notes
    -----
    A first guess without weighings is an estimate over a factor of three.

    Examples
    --------
    >>> weighings = [{"hours": h, "grams": g} for h, g in ((0, 80.0), (24, 74.2), (48, 71.5), (96, 69.1))]
    >>> answer = dry({"weighings": weighings, "final_grams": 68.4})
    >>> answer.model, answer.hours_to_dry.low < answer.hours_to_dry.typical < answer.hours_to_dry.high
    ('exponential', True)
    """
    wanted, known = opened(DryingRequest, request, rulebook, notebook)
    rules = known.rulebook
    formula = None if wanted.recipe is None else read_formula(wanted.recipe, known)
    few = len(wanted.weighings) < rules.drying.fit.least_weighings
    if few and (wanted.body is not None or (wanted.made_on is not None and formula is not None)):
        return _guessed(wanted, formula, rules)
    return _fitted(wanted, formula, rules)


def _fitted(wanted: DryingRequest, formula: Formula | None, rules: Rulebook) -> DryingAnswer:
    figures = rules.drying
    hours = [weighing.hours for weighing in wanted.weighings]
    grams = [weighing.grams for weighing in wanted.weighings]
    _check_dry_grams(wanted)
    curves = curves_not_ruled_out(
        hours,
        grams,
        figures.fit,
        final_grams=wanted.final_grams,
        final_between=_final_between(wanted, formula),
    )
    curve, observed = curves[0], hours[-1] - hours[0]
    found = forecast(curves, observed, formula, wanted.body, figures)
    final = curve.final_grams if found.own or not curve.final_fitted else None
    left = 100 - leaving(formula, figures).typical if final is None else 100 * final / grams[0]
    dried, notes = _dried(wanted, formula, final, left, figures)
    last = min(figures.fit.times_observed * observed, max(observed, found.hours.typical))
    k, n = curve.k_interval(), curve.n_interval()
    return DryingAnswer(
        model=curve.model,
        parameters=DryingParameters(k=_figures(curve.k), n=_figures(curve.n)),
        fit=DryingFit(rmse=round(curve.rmse, 5), r2=round(curve.r2, 5)),
        interval80=ParameterIntervals(k=_bounds(k), n=_bounds(n)),
        hours_to_dry=_estimate(found.hours, 1),
        final_grams=None if final is None else round(final, 2),
        curve=_banded(curve, last if found.own else observed, figures.fit.curve_points),
        dried=dried,
        dates=_dates(wanted, found.hours, figures),
        basis="own" if found.own else "estimate",
        cautions=(),
        notes=(
            *_reach_notes(found, observed, figures),
            *_fit_notes(hours[0], curve, found, figures),
            *notes,
            *_general_notes(formula, found.hours, wanted, figures),
        ),
        rules_version=rules.edition,
    )


def _dates(wanted: DryingRequest, dry_after: Interval, figures: DryingRules) -> DryingDates | None:
    if wanted.made_on is None:
        return None
    hours = [weighing.hours for weighing in wanted.weighings]
    first, last = (hours[0], hours[-1]) if hours else (0.0, None)
    return drying_dates(wanted.made_on, first, last, dry_after, figures.dry)


def _guessed(wanted: DryingRequest, formula: Formula | None, rules: Rulebook) -> DryingAnswer:
    figures = rules.drying
    if formula is None:
        raise InvalidRequest(
            "A first guess needs a recipe: how much water leaves comes from there.",
            [Fault("/recipe", "is missing", "send the recipe, or three or more weighings")],
        )
    body = wanted.body or BarBody(thickness_mm=figures.diffusion.thickness_mm)
    leaves = leaving(formula, figures)
    rate, dry_after, share_left = first_guess(body.shape, body.thickness_mm / 2, leaves, figures)
    grams = body.grams or (wanted.weighings[0].grams if wanted.weighings else None)
    whole = 100.0 if grams is None else grams

    def weight(hours: float) -> float:
        gone = leaves.typical / 100 * (1 - share_left(hours, figures.diffusion.typical))
        return whole * (1 - gone)

    left = 100 - leaves.typical
    final = None if grams is None else grams * left / 100
    dried, notes = _dried(wanted, formula, final, left, figures)
    return DryingAnswer(
        model="diffusion",
        parameters=DryingParameters(k=_figures(rate.typical, 2), n=1.0),
        fit=None,
        interval80=ParameterIntervals(k=_bounds(rate, 2), n=Bounds(low=1.0, high=1.0)),
        hours_to_dry=_estimate(dry_after, 0),
        final_grams=None if final is None else round(final, 1),
        curve=_curve(weight, dry_after.typical, figures.fit.curve_points),
        dried=dried,
        dates=_dates(wanted, dry_after, figures),
        basis="estimate",
        cautions=(),
        notes=(
            figures.said("few", least=str(figures.fit.least_weighings)),
            figures.said("leaving"),
            *notes,
            *_general_notes(formula, dry_after, wanted, figures),
        ),
        rules_version=rules.edition,
    )


def _reach_notes(found: Forecast, observed: float, figures: DryingRules) -> list[TextItem]:
    """Say where the weighings of the bar no longer tell."""
    if found.own:
        return []
    if found.too_short:
        return [figures.said("too_short", observed=f"{observed:g}", least=f"{figures.fit.least_hours:g}")]
    return [figures.said("beyond", observed=f"{observed:g}")]


def _check_dry_grams(wanted: DryingRequest) -> None:
    least = min((weighing.grams for weighing in wanted.weighings), default=None)
    for bound, name in ((wanted.final_grams, "the final weight"), (least, "a weighing")):
        if wanted.dry_grams is not None and bound is not None and wanted.dry_grams > bound:
            raise InvalidRequest(
                f"The dry weight lies above {name}.", [Fault("/dry_grams", f"lies above {name}")]
            )


def _final_between(wanted: DryingRequest, formula: Formula | None) -> tuple[float, float] | None:
    """Return between which weights [g] the final one lies: no more than all water can leave."""
    if not wanted.weighings:
        return None
    start, last = wanted.weighings[0].grams, wanted.weighings[-1].grams
    if wanted.dry_grams is not None:
        return wanted.dry_grams, last
    if formula is None:
        return None
    water = formula.measures.water.of(formula.amounts) or 0.0
    return start * (100 - water) / 100, last


def _dried(
    wanted: DryingRequest,
    formula: Formula | None,
    final_grams: float | None,
    mass_left: float,
    figures: DryingRules,
) -> tuple[Dried | None, list[TextItem]]:
    """Return the dried bar as its own weight says, and what must be said of it."""
    notes = []
    if wanted.dry_grams is not None and final_grams:
        moisture = 100 * (final_grams - wanted.dry_grams) / final_grams
        notes.append(figures.said("moisture", percent=f"{moisture:.1f}"))
    if formula is None:
        notes.append(figures.said("no_recipe"))
        if final_grams is None:
            return None, notes
        bare = Dried(
            grams=round(final_grams, 2),
            mass_left=round(mass_left, 2),
            totals=None,
            composition=None,
            water_activity=None,
        )
        return bare, notes
    made = formula.measures.totals(formula.amounts)
    water = formula.measures.water.of(formula.amounts) or 0.0
    lost = 100 - mass_left
    if lost > water + 1e-6:
        notes.append(figures.said("over"))
    water_left = max(0.0, water - lost)
    active = formula.measures.active.of(formula.amounts) or 0.0
    totals = made.model_copy(
        update={
            "as_dried": AsDried(
                mass_left=round(mass_left, 2),
                active=round(100 * active / mass_left, 2),
                water=round(100 * water_left / mass_left, 2),
            )
        }
    )
    composition = _composition(formula, mass_left)
    activity = _activity(composition, 100 * water_left / mass_left, figures)
    notes.append(_activity_note(activity, figures))
    if wanted.room_rh is not None:
        notes += _room(composition, 100 * water_left / mass_left, wanted.room_rh, figures)
    dried = Dried(
        grams=None if final_grams is None else round(final_grams, 2),
        mass_left=round(mass_left, 2),
        totals=totals,
        composition={name: round(percent, 3) for name, percent in composition.items()},
        water_activity=activity,
    )
    return dried, notes


def _composition(formula: Formula, mass_left: float) -> dict[str, float]:
    """Return percent of each component in the dried bar; what left is taken from the water."""
    percents: dict[str, float] = {}
    shown: dict[str, str] = {}
    for key, percent in formula.amounts.items():
        for name, share in formula.ingredients[key].composition.items():
            folded = shown.setdefault(name.casefold(), name)
            percents[folded] = percents.get(folded, 0.0) + percent * share
    whole = sum(percents.values())
    lost = 100 - mass_left
    dried = {}
    for name, percent in percents.items():
        made = 100 * percent / whole
        dried[name] = 100 * max(0.0, made - (lost if name.casefold() == _WATER else 0.0)) / mass_left
    total = sum(dried.values())
    ordered = sorted(dried.items(), key=lambda item: (-item[1], item[0]))
    return {name: 100 * percent / total for name, percent in ordered if percent > 0}


def _activity(composition: Mapping[str, float], water: float, figures: DryingRules) -> Estimate | None:
    """Return the water activity of the dried bar; None where nothing that holds water is known in it."""
    if held_water(composition, 0.5, figures) <= 0:
        return None
    typical = water_activity(composition, water, figures)
    reach = figures.water_activity.uncertainty
    return Estimate(
        typical=round(typical, 2),
        low=round(max(0.0, typical - reach), 2),
        high=round(min(1.0, typical + reach), 2),
    )


def _activity_note(activity: Estimate | None, figures: DryingRules) -> TextItem:
    if activity is None:
        return figures.said("no_activity")
    limit = figures.low_risk.water_activity_at_most
    return figures.said("activity", low=f"{activity.low:g}", high=f"{activity.high:g}", limit=f"{limit:g}")


def _room(
    composition: Mapping[str, float], water: float, room_rh: float, figures: DryingRules
) -> list[TextItem]:
    held = held_water(composition, room_rh / 100, figures)
    notes = [figures.said("held", rh=f"{room_rh:g}", percent=f"{held:.1f}")]
    if held > water:
        notes.append(figures.said("wetter", rh=f"{room_rh:g}"))
    return notes


def _fit_notes(
    first_hours: float, curve: DryingCurve, found: Forecast, figures: DryingRules
) -> list[TextItem]:
    notes = []
    if first_hours > 0:
        notes.append(figures.said("start", hours=f"{first_hours:g}"))
    if curve.r2 < figures.fit.poor_below_r2:
        notes.append(figures.said("poor"))
    if curve.scatter_assumed:
        notes.append(figures.said("scatter", percent=f"{100 * figures.fit.scatter:g}"))
    if curve.final_at_bound:
        notes.append(figures.said("final_early"))
    elif curve.final_fitted and found.own:
        notes.append(figures.said("final_fitted", grams=f"{curve.final_grams:.1f}"))
    if curve.model == "page":
        notes.append(figures.said("n"))
    return notes


def _general_notes(
    formula: Formula | None, dry_after: Interval, wanted: DryingRequest, figures: DryingRules
) -> list[TextItem]:
    days, percent = figures.dry.handling_days, f"{figures.dry.loss_percent_per_day:g}"
    if dry_after.high <= 24 * days:
        wait = figures.said("already", hours=f"{dry_after.high:.0f}", percent=percent)
    else:
        wait = figures.said("handling", days=f"{days:g}", percent=percent)
    dated = [figures.said("dates")] if wanted.made_on is not None else []
    return [wait, *dated, *(formula.notes if formula is not None else ())]


def _curve(weight: Callable[[float], float], last: float, points: int) -> tuple[CurvePoint, ...]:
    hours = [last * place / (points - 1) for place in range(points)]
    return tuple(CurvePoint(hours=round(at, 2), grams=round(weight(at), 2)) for at in hours)


def _banded(curve: DryingCurve, last: float, points: int) -> tuple[CurvePoint, ...]:
    between = [curve.grams_between(last * place / (points - 1)) for place in range(points)]
    return tuple(
        point.model_copy(update={"low": round(low, 2), "high": round(high, 2)})
        for point, (low, high) in zip(_curve(curve.grams_at, last, points), between, strict=True)
    )


def _figures(value: float, figures: int = _FIGURES) -> float:
    return float(f"{value:.{figures}g}")


def _bounds(interval: Interval, figures: int = _FIGURES) -> Bounds:
    return Bounds(low=_figures(interval.low, figures), high=_figures(interval.high, figures))


def _estimate(interval: Interval, digits: int) -> Estimate:
    return Estimate(
        typical=round(interval.typical, digits),
        low=round(interval.low, digits),
        high=round(interval.high, digits),
    )
