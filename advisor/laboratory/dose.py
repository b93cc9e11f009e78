"""The pH task: two readings around a trial dose give the dose still to add."""

from collections.abc import Mapping
from typing import Any

from advisor.laboratory.dose_schema import DoseAnswer, DoseRequest
from advisor.law.acidity import NextDose, next_dose
from advisor.recipe.request import read_request
from advisor.rulebook.acidity import AcidityRules
from advisor.rulebook.load import Rulebook, load_rulebook
from advisor.schema.findings import TextItem

_FIGURES = 4


def dose(request: DoseRequest | Mapping[str, Any], *, rulebook: Rulebook | None = None) -> DoseAnswer:
    """Return the dose of acid or alkali still to add.

    Parameters
    ----------
    request : DoseRequest or mapping
        pH before and after a trial dose, pH wanted, percent of the dispersion; masses to scale to a batch.
    rulebook : Rulebook, optional
        Default: the packaged one.

    Raises
    ------
    InvalidRequest
        A field is wrong, or the trial dose moved the pH too little.

    Notes
    -----
    The pH of a paste is not predicted: the line through two readings is followed for one step at most.

    Examples
    --------
    >>> asked_for = {"first_ph": 7.4, "dose": 0.5, "second_ph": 6.4, "target_ph": 5.9, "test_percent": 10,
    ...     "test_dough_grams": 10, "batch_grams": 800}
    >>> answer = dose(asked_for)
    >>> answer.next_dose, answer.batch_dose
    (0.25, 20.0)
    """
    rules = rulebook or load_rulebook()
    wanted = read_request(DoseRequest, request, rules)
    figures = rules.acidity
    found = next_dose(wanted.first_ph, wanted.dose, wanted.second_ph, wanted.target_ph, figures.dose)
    share = (figures.dose.first_share_low + figures.dose.first_share_high) / 2
    scale = None
    if wanted.batch_grams is not None and wanted.test_dough_grams is not None:
        scale = wanted.batch_grams / wanted.test_dough_grams
    return DoseAnswer(
        next_dose=_rounded(found.dose),
        share_to_add_first=round(share, 4),
        first_dose=_rounded(share * found.dose),
        capped=found.capped,
        state=found.state,
        reaches_ph=round(found.reaches_ph, 2),
        test_percent=wanted.test_percent,
        batch_dose=None if scale is None else _rounded(found.dose * scale),
        batch_trial_dose=None if scale is None else _rounded(wanted.dose * scale),
        cautions=_cautions(found, acid=wanted.second_ph < wanted.first_ph, figures=figures),
        notes=_notes(wanted, found, scale, figures),
        rules_version=rules.edition,
    )


def _rounded(value: float) -> float:
    return float(f"{value:.{_FIGURES}g}")


def _cautions(found: NextDose, *, acid: bool, figures: AcidityRules) -> tuple[TextItem, ...]:
    """Return the cautions of what is still to add; where nothing is, there are none."""
    if not found.dose:
        return ()
    kinds = ("order", "acid", "bicarbonate") if acid else ("order", "alkali")
    return tuple(TextItem(id=kind, text=figures.text[kind]) for kind in kinds)


def _notes(
    wanted: DoseRequest, found: NextDose, scale: float | None, figures: AcidityRules
) -> tuple[TextItem, ...]:
    reading, rules, skin = figures.reading, figures.dose, figures.skin
    told = {
        "reading": {
            "percent": f"{wanted.test_percent:g}",
            "warm_to_c": f"{reading.warm_to_c:g}",
            "read_at_c": f"{reading.read_at_c:g}",
        }
    }
    if found.state == "add":
        told["first"] = {
            "first": f"{100 * rules.first_share_low:.0f} to {100 * rules.first_share_high:.0f} %"
        }
        told["line"] = {}
    else:
        told[found.state] = {}
    if found.capped:
        told["capped"] = {"step": f"{rules.step_at_most:g}"}
    if scale is not None:
        told["trial"] = {"grams": f"{_rounded(wanted.dose * scale):g}"}
    if not skin.ph_min <= wanted.target_ph <= skin.ph_max:
        told["low_high"] = {"low": f"{skin.ph_min:g}", "high": f"{skin.ph_max:g}"}
    return tuple(
        TextItem(id=kind.replace("_", "-"), text=figures.text[kind].format(**filled))
        for kind, filled in told.items()
    )
