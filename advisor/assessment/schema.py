"""The assessment call: request and answer."""

from advisor.schema.findings import Answer, Check, Consistency, Finding, Totals
from advisor.schema.recipe import History, OfRecipe, Report


class AssessmentRequest(OfRecipe):
    """A recipe to look at as it stands; ``ph`` is that of the bar, measured in dispersion."""

    report: Report | None = None
    history: History | None = None


class AssessmentAnswer(Answer):
    """The recipe's arithmetic, its consistency, every demand held against it, and what stands out."""

    totals: Totals
    consistency: Consistency
    checks: tuple[Check, ...]
    findings: tuple[Finding, ...]
