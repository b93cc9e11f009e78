"""What stands out in a recipe, worst first: an assessment's opinion."""

from collections.abc import Iterator, Sequence

from advisor.case.case import Case
from advisor.case.unmet import unmet
from advisor.case.watch import Watch, Watched, rule_cautions, worst_first
from advisor.recipe.grams import listed
from advisor.recipe.measures import Amounts, Measures
from advisor.rulebook.levels import DoughFinding
from advisor.schema.base import WHOLE
from advisor.schema.findings import Check, Consistency, Finding


def findings(watch: Watch, checks: Sequence[Check], found: Consistency) -> tuple[Finding, ...]:
    """Return what stands out in the recipe of a case, danger before law before dough before advice.

    Parameters
    ----------
    watch : Watch
        The recipe of a case as it came.
    checks : sequence of Check
        Every demand held against the recipe as it stands, usual ranges as they are written.
    found : Consistency
        How the recipe lies to the window.
    """
    case = watch.case
    said = [
        *watch.special,
        *_hazards(case),
        *_dough(case, found),
        *_beside_own(case, found),
        *unmet(case, checks),
    ]
    worst = tuple(
        Finding(id=one.id, severity=one.severity, text=one.text, about=one.about) for one in worst_first(said)
    )
    if worst:
        return worst
    text = case.rulebook.findings.text["none" if case.learned.past_doughs else "none_unknown"]
    return (Finding(id="nothing-stands-out", severity="advice", text=text, about=()),)


def _hazards(case: Case) -> Iterator[Watched]:
    own = case.formula.amounts
    for told in rule_cautions(case, own, own):
        if told.rule.severity is not None:
            yield Watched(told.rule.id, told.rule.severity, told.caution.text, told.about)


def _dough(case: Case, found: Consistency) -> Iterator[Watched]:
    measures, own = case.formula.measures, case.formula.amounts
    for rule in case.rulebook.findings.dough:
        if rule.used_on and case.wishes.used_on not in rule.used_on:
            continue
        value, top = _measured(rule, measures, own, found)
        over = rule.over is not None and value is not None and value > rule.over
        under = rule.under is not None and value is not None and value < rule.under
        if over or under:
            about = tuple(sorted((key for key in top if own.get(key)), key=lambda key: -own[key]))
            bound = rule.over if over else rule.under
            scale = WHOLE if rule.measure in ("oil_per_powder", "watery_share", "coarse_share") else 1.0
            names = [measures.ingredients[key].name for key in about]
            text = rule.text.format(
                names=listed(names) if names else "nothing",
                value=f"{(value or 0.0) * scale:.3g}",
                bound=f"{(bound or 0.0) * scale:g}",
            )
            yield Watched(rule.id, "dough", text, about)


def _beside_own(case: Case, found: Consistency) -> Iterator[Watched]:
    """Yield that the recipe lies beside where the maker's own doughs work."""
    side = found.word.rpartition("_")[2]
    if found.basis == "own" and side in ("dry", "wet"):
        text = case.rulebook.findings.text["beside_own"].format(
            side=side, chance=WHOLE * (found.chance_workable or 0.0)
        )
        yield Watched("beside-own-doughs", "dough", text, ())


def _measured(
    rule: DoughFinding, measures: Measures, own: Amounts, found: Consistency
) -> tuple[float | None, dict[str, float]]:
    """Return a measure of the recipe and what counts in it."""
    if rule.measure == "first_guess_wetness":
        of = measures.wetness("cold")
        return None if found.basis == "own" else of.of(own), dict(measures.liquids.top)
    if rule.measure == "humectants_of_liquids":
        held, liquids = measures.humectants.of(own), measures.liquids.of(own)
        share = None if not liquids else WHOLE * (held or 0.0) / liquids
        return share, dict(measures.humectants.top)
    measure = measures.component(*rule.components) if rule.components else getattr(measures, rule.measure)
    return measure.of(own), dict(measure.top)
