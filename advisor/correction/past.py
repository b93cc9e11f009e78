"""What earlier doughs say of the report in hand, besides where the window lies."""

from collections.abc import Sequence

from advisor.demands.aim import Past
from advisor.recipe.measures import Amounts
from advisor.recipe.request import Formula, KnownMaterials, read_formula
from advisor.schema.recipe import PastDough, Report

_SAME = 1e-6


def past_of(formula: Formula, report: Report, history: Sequence[PastDough], known: KnownMaterials) -> Past:
    """Return what the earlier doughs say of this report."""
    insisted, last_watery = False, None
    for index, dough in enumerate(history):
        was = read_formula(dough.recipe, known, where=f"/history/{index}/recipe", lots=dough.lots)
        if dough.report.feel == "workable":
            last_watery = was.measures.watery_share.of(was.amounts)
        insisted |= dough.report.feel == report.feel and _same(was.amounts, formula.amounts)
    return Past(insisted=insisted, last_watery=last_watery)


def _same(one: Amounts, other: Amounts) -> bool:
    return all(abs(one.get(key, 0.0) - other.get(key, 0.0)) < _SAME for key in one.keys() | other.keys())
