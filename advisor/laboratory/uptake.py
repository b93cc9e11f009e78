"""Turns a bench test into a powder's demand for liquid."""

import math
from collections.abc import Mapping
from statistics import NormalDist, fmean, stdev
from typing import Any

from advisor.errors import Fault, InvalidRequest
from advisor.recipe.belief import Measured, weighed_in
from advisor.recipe.notebook import Notebook
from advisor.recipe.request import KnownMaterials, opened
from advisor.rulebook.dough import UptakeTestRules
from advisor.rulebook.ingredient import Ingredient
from advisor.rulebook.load import Rulebook
from advisor.schema.findings import TextItem
from advisor.schema.material import FormField, TakenUp, UptakeTest, UptakeTestAnswer, UptakeTestRequest

LEVEL = 0.8
_FORM = (
    ("first_ball", "Liquid used when the first ball holds together"),
    ("smooth", "Liquid used when the mass is smooth"),
    ("sticks", "Liquid used when it begins to stick to the spatula"),
)


def uptake(
    request: UptakeTestRequest | Mapping[str, Any],
    *,
    rulebook: Rulebook | None = None,
    notebook: Notebook | None = None,
) -> UptakeTestAnswer:
    """Return how much liquid a powder takes up by the bench test, with its spread; or the form of the test.

    Parameters
    ----------
    request : UptakeTestRequest or mapping
        Powder, liquid, and the liquid used in each repeat [g].
    rulebook : Rulebook, optional
        Default: the packaged one.
    notebook : Notebook, optional
        What the shop knows besides.

    Raises
    ------
    InvalidRequest
        The material is no powder, or the liquid none.
    UnknownMaterial

    Notes
    -----
    A mass kneaded in a cup is no dough of a whole recipe: besides the scatter of the repeats and the step of
    the liquid, the spread holds what a cup and a dough differ by, which is an estimate.

    Examples
    --------
    >>> runs = [{"first_ball": 6.0, "smooth": 8.0, "sticks": 9.0}, {"smooth": 8.2}, {"smooth": 7.8}]
    >>> answer = uptake({"material": "kaolin", "liquid": "betaine-30", "repeats": runs})
    >>> answer.measured.typical, round(answer.relative_sd, 2)
    (0.4, 0.15)
    """
    wanted, known = opened(UptakeTestRequest, request, rulebook, notebook)
    rules = known.rulebook
    powder, _ = _pair(wanted, known)
    figures = rules.dough.uptake_test
    found = measured(wanted, known)
    library = "estimate" if powder.estimated else "published"
    combined = None
    if found is not None:
        mean, sd = weighed_in(found, powder.uptake, powder.uptake_sd)
        taught = powder.uptake_sd > 0 and 1 - (sd / powder.uptake_sd) ** 2 >= rules.dough.classes.own_from
        combined = demand_of(powder.uptake * math.exp(mean), sd, "own" if taught else library)
    return UptakeTestAnswer(
        material=powder.key,
        measured=None if found is None else demand_of(found.demand, found.sd, "own"),
        relative_sd=None if found is None else round(found.sd, 4),
        repeat_sd=_repeat_sd(wanted),
        prior=demand_of(powder.uptake, powder.uptake_sd, library),
        combined=combined,
        window=_window(wanted),
        steps=tuple(
            TextItem(id=f"step-{number}", text=text) for number, text in enumerate(figures.steps, start=1)
        ),
        form=_form(wanted, figures),
        cautions=(),
        notes=_notes(wanted, figures),
        rules_version=rules.edition,
    )


def measured(test: UptakeTest, known: KnownMaterials) -> Measured | None:
    """Return the demand a bench test found [g of reference liquid per g]; None without repeats.

    Raises
    ------
    InvalidRequest, UnknownMaterial
    """
    _, liquid = _pair(test, known)
    if not test.repeats:
        return None
    rules = known.rulebook.dough.uptake_test
    powder_grams = test.powder_grams or rules.powder_grams
    step = test.step_grams or rules.liquid_step_grams
    logs = [math.log(run.smooth) for run in test.repeats]
    middle = fmean(logs)
    scatter = stdev(logs) if len(logs) > 1 else rules.dough_sd
    of_step = step / math.sqrt(12) / math.exp(middle)
    sd = math.sqrt((scatter**2 + of_step**2) / len(logs) + rules.dough_sd**2)
    return Measured(math.exp(middle) * liquid.wetting / powder_grams, sd)


def _pair(test: UptakeTest, known: KnownMaterials) -> tuple[Ingredient, Ingredient]:
    found = known.all([(test.material, "/material"), (test.liquid, "/liquid")])
    powder, liquid = found[test.material], found[test.liquid]
    faults = []
    if not powder.powder("warm") or not powder.uptake:
        faults.append(Fault("/material", "is no powder that takes up liquid"))
    if not liquid.liquid_cold:
        faults.append(Fault("/liquid", "is not liquid at the bench"))
    if faults:
        raise InvalidRequest("The test needs a powder and a liquid.", faults)
    return powder, liquid


def demand_of(typical: float, sd: float, basis: str) -> TakenUp:
    """Return a demand [g/g] with the 80 % interval that follows from its relative standard deviation."""
    reach = NormalDist().inv_cdf((1 + LEVEL) / 2) * sd
    low, high = typical * math.exp(-reach), typical * math.exp(reach)
    return TakenUp(typical=round(typical, 3), low=round(low, 3), high=round(high, 3), basis=basis)


def _repeat_sd(test: UptakeTest) -> float | None:
    logs = [math.log(run.smooth) for run in test.repeats]
    return round(stdev(logs), 4) if len(logs) > 1 else None


def _window(test: UptakeTest) -> float | None:
    """Return how far it is from the first ball to sticking, on ln of the liquid, on average."""
    widths = [math.log(run.sticks / run.first_ball) for run in test.repeats if run.first_ball and run.sticks]
    return round(fmean(widths), 3) if widths else None


def _form(test: UptakeTest, rules: UptakeTestRules) -> tuple[FormField, ...]:
    if test.repeats:
        return ()
    return tuple(
        FormField(name=f"repeats/{run}/{name}", text=f"{text}, repeat {run + 1}", unit="g")
        for run in range(rules.repeats)
        for name, text in _FORM
    )


def _notes(test: UptakeTest, rules: UptakeTestRules) -> tuple[TextItem, ...]:
    if 0 < len(test.repeats) < rules.repeats:
        return (
            TextItem(
                id="few-repeats",
                text=f"{rules.repeats} repeats are asked for; with fewer their scatter is a guess.",
            ),
        )
    return ()
