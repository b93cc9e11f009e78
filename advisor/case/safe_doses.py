"""The dose that keeps a limit of the law however much water leaves the bar."""

import math
from collections.abc import Iterator

from advisor.case.case import Case
from advisor.recipe.demand import Measure
from advisor.recipe.measures import Amounts
from advisor.schema.findings import TextItem


def safe_doses(case: Case, amounts: Amounts) -> Iterator[TextItem]:
    """Yield, for each limit the dried bar may pass, the percent of the dough that is safe at both ends.

    The dose is the one that meets the limit when most water leaves, the rest of the recipe in proportion;
    it is rounded down.
    """
    for demand in case.demands:
        dried = demand.measure.of(amounts)
        if demand.kind != "law" or demand.state != "as_dried" or demand.maximum is None or not dried:
            continue
        if dried <= demand.maximum:
            continue
        made = Measure(demand.measure.top, None, demand.measure.scale).of(amounts) or 0.0
        digits = 2 - math.floor(math.log10(made))
        safe = math.floor(made * demand.maximum / dried * 10**digits) / 10**digits
        text = (
            f"{demand.name}: at most {safe:g} % of the dough is within {demand.maximum:g} % of the bar "
            f"however much water leaves; now it is {made:.3g} %."
        )
        yield TextItem(id=f"safe-dose-{demand.id.split(':')[1]}", text=text)
