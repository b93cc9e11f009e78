"""The assessment: a recipe as it stands, with nothing changed."""

from collections.abc import Mapping
from typing import Any

from advisor.assessment.findings import findings
from advisor.assessment.schema import AssessmentAnswer, AssessmentRequest
from advisor.case.case import Case, Reading
from advisor.case.unmet import safe_doses
from advisor.case.watch import Watch, cautions_of
from advisor.labelling.notes import assessment_remarks, law_notes, learning_notes
from advisor.law.preservation import preservation_texts, preservatives
from advisor.recipe.notebook import Notebook
from advisor.recipe.request import (
    Formula,
    opened,
    read_formula,
)
from advisor.rulebook.load import Rulebook
from advisor.schema.findings import TextItem


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
    return AssessmentAnswer(
        totals=state.totals,
        consistency=state.consistency,
        checks=checks,
        cautions=cautions_of(case, watch),
        findings=findings(watch, checks),
        notes=(
            *formula.notes,
            *safe_doses(case, formula.amounts),
            *_said_of(formula, case),
            *learning_notes(case),
        ),
        rules_version=case.rulebook.edition,
    )


def _said_of(formula: Formula, case: Case) -> tuple[TextItem, ...]:
    """Return what the law asks beside limits, and what is known of the preservation."""
    rules, ph = case.rulebook, case.ph
    lines = [(percent, formula.ingredients[key].material) for key, percent in formula.amounts.items()]
    found = preservatives(lines, ph, rules.substances, rules.laws["eu"])
    wet = found or formula.measures.water.of(formula.amounts)
    return (
        *law_notes(case, formula.amounts),
        *assessment_remarks(lines, rules.assessed),
        *(preservation_texts(found, lines, ph, rules.preservation) if wet else ()),
    )
