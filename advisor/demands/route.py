"""Which way a report points: to less liquid or more, to cohesion, grains, tack, or nowhere."""

from advisor.recipe.measures import Amounts, Measures
from advisor.rulebook.dough import DoughRules
from advisor.rulebook.feels import FeelsFile, Route
from advisor.rulebook.load import Rulebook
from advisor.schema.recipe import Report


def route_of(
    report: Report,
    measures: Measures,
    amounts: Amounts,
    rulebook: Rulebook,
    *,
    insisted: bool = False,
) -> Route:
    """Return what a report points to: what its feel does, told apart by signs and the recipe.

    ``insisted``: it was reported before of the same recipe, so what comes before the recipe was done.
    """
    rules, feels, traits = rulebook.dough, rulebook.feels, rulebook.bench.traits
    feel = feels.feel[report.feel]
    plain = _told_apart(report, measures, amounts, rules, feels) if feel.told_apart else feel.route
    if plain not in ("wetter", "drier", "cohesion") or insisted:
        return plain
    pointed = [feels.sign[sign].points_to for sign in report.signs]
    if (measures.coarse_share.of(amounts) or 0.0) > rules.coarse.share_at_most and "cohesion" not in pointed:
        return "coarse"
    draws = measures.component(*traits.hygroscopic).of(amounts) or 0.0
    return "sticky" if "sticky" in pointed and draws >= traits.at_least_percent else plain


def _told_apart(
    report: Report, measures: Measures, amounts: Amounts, rules: DoughRules, feels: FeelsFile
) -> Route:
    pointed = [feels.sign[sign].points_to for sign in report.signs]
    dry, loose = pointed.count("dry"), pointed.count("cohesion")
    if dry != loose:
        return "wetter" if dry > loose else "cohesion"
    index = measures.wetness().of(amounts)
    if index is not None and index < rules.cohesion.dry_below_wetness and not loose:
        return "wetter"
    return "cohesion"
