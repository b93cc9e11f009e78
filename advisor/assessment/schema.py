"""The assessment call: request and answer."""

from advisor.schema.batch import WithPH
from advisor.schema.findings import Answer, Check, Consistency, Finding, Totals
from advisor.schema.material import Materials
from advisor.schema.recipe import History, Recipe, Report, Wishes


class AssessmentRequest(WithPH):
    """A recipe to look at as it stands; ``ph`` is that of the bar, measured in dispersion."""

    recipe: Recipe
    wishes: Wishes | None = None
    materials: Materials | None = None
    report: Report | None = None
    history: History | None = None


class AssessmentAnswer(Answer):
    """The recipe's arithmetic, its consistency, every demand held against it, and what stands out."""

    totals: Totals
    consistency: Consistency
    checks: tuple[Check, ...]
    findings: tuple[Finding, ...]
