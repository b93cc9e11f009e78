"""The assessment: a recipe as it stands, with nothing changed."""

from collections.abc import Mapping
from typing import Any

from advisor.assessment.findings import findings
from advisor.assessment.schema import AssessmentAnswer, AssessmentRequest
from advisor.case.case import Case, Reading
from advisor.case.unmet import safe_doses
from advisor.case.watch import Watch, cautions_of
from advisor.labelling.notes import assessment_remarks, law_notes, learning_notes, preserving
from advisor.recipe.notebook import Notebook
from advisor.recipe.request import (
    opened,
    read_formula,
)
from advisor.rulebook.load import Rulebook


def assess(
    request: AssessmentRequest | Mapping[str, Any],
    *,
    rulebook: Rulebook | None = None,
    notebook: Notebook | None = None,
) -> AssessmentAnswer:
    """Return the arithmetic of a recipe, its consistency, and every demand held against it.

    Parameters
    ----------
    request : AssessmentRequest or mapping
        The recipe, with wishes, inline materials, a report and earlier doughs where there are any.
    rulebook : Rulebook, optional
        Default: the packaged one.
    notebook : Notebook, optional
        What the shop knows besides: its own materials, doughs and measured demands.

    Raises
    ------
    InvalidRequest, InvalidRecipe, UnknownMaterial

    Notes
    -----
    The wetting index rests on estimated uptakes until the maker's own doughs speak: ``consistency.basis``.

    Examples
    --------
    >>> lines = [{"material": "betaine-30", "percent": 30}, {"material": "isethionate-powder", "percent": 70}]
    >>> answer = assess({"recipe": {"lines": lines}})
    >>> answer.totals.active
    67.8
    """
    wanted, known = opened(AssessmentRequest, request, rulebook, notebook)
    formula = read_formula(wanted.recipe, known, wishes=wanted.wishes)
    case = Case.at(
        formula,
        known,
        wishes=wanted.wishes,
        report=wanted.report,
        history=wanted.history,
        reading=Reading.of(wanted),
    )
    state = case.state(formula.amounts)
    checks = case.checks_as_written()
    watch = Watch(case, formula.amounts)
    lines = [(percent, formula.ingredients[key].material) for key, percent in formula.amounts.items()]
    wet = formula.measures.water.of(formula.amounts) or any("preservative" in one.roles for _, one in lines)
    return AssessmentAnswer(
        totals=state.totals,
        consistency=state.consistency,
        checks=checks,
        cautions=cautions_of(case, watch),
        findings=findings(watch, checks, state.consistency),
        notes=(
            *formula.notes,
            *safe_doses(case, formula.amounts),
            *law_notes(case, formula.amounts),
            *assessment_remarks(lines, case.rulebook.assessed),
            *(preserving(case, formula.amounts) if wet and case.ph is None else ()),
            *learning_notes(case),
        ),
        rules_version=case.rulebook.edition,
    )
