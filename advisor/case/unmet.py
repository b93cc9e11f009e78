"""What of the checks is not met, as findings and as notes, and which dose would be safe."""

import math
from collections.abc import Iterable, Iterator

from advisor.case.case import Case
from advisor.case.watch import Watched
from advisor.recipe.demand import Measure
from advisor.recipe.measures import Amounts
from advisor.schema.findings import Check, TextItem
from advisor.writing import between, decimals, figure, in_state


def unmet(case: Case, checks: Iterable[Check]) -> Iterator[Watched]:
    """Yield what breaks the law, a usual range, a highest level or a wish, the check's own figures in it."""
    text = case.rulebook.findings.text
    for check in checks:
        if check.ok:
            continue
        about = _about(case, check)
        plain = case.formula.ingredients[about[0]].name if check.kind == "use" else check.name
        figures = {
            "name": in_state(plain, check.state),
            "value": figure(check.value, decimals(check.value, check.bounds, check.unit)),
            "unit": "" if check.unit == "1" else check.unit,
            "bound": f"{check.max:g}" if check.max is not None else "",
            "source": check.source,
            "range": f"{between(check.min, check.max)} %",
        }
        match check.kind:
            case "law" if check.max:  # where nothing is allowed the ban or the pair itself stands out
                said = text["law_depends" if check.verdict == "depends" else "law"].format(**figures)
                yield Watched(check.finding, "law", said, about)
            case "use":
                yield Watched(check.finding, "advice", text["usual"].format(**figures), about)
            case "advice":
                yield Watched(check.finding, "advice", text["level"].format(**figures), about)
            case "wish":
                yield Watched(check.finding, "advice", text["wish"].format(**figures), about)


def limits_passed(case: Case, amounts: Amounts) -> tuple[TextItem, ...]:
    """Return the limits of the law that a recipe passes, each once: the sure first, then the furthest."""
    worst: dict[tuple[str, str], Check] = {}
    for check in sorted(
        case.checks(amounts),
        key=lambda one: (one.ok, one.verdict == "depends", -one.value / one.max if one.max else 0.0),
    ):
        if check.kind == "law":
            worst.setdefault((check.name, check.source), check)
    return tuple(TextItem(id=one.id, text=one.text) for one in unmet(case, worst.values()))


def _about(case: Case, check: Check) -> tuple[str, ...]:
    """Return the materials of the recipe that a check is about, by key or by what they hold."""
    of = case.formula.ingredients
    named = tuple(key for key in case.order if key in check.about)
    return named or tuple(key for key in case.order if of[key].holds(*check.about))


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
