"""Says what a report asks of the next dough, and of the one in the bowl."""

from collections.abc import Sequence
from dataclasses import dataclass

from advisor.recipe.demand import Demand
from advisor.recipe.measures import Amounts, Measures
from advisor.rulebook.bench import Traits
from advisor.rulebook.dough import DoughRules
from advisor.rulebook.feels import FeelsFile, Route
from advisor.schema.report import Report

_TACKY = ("sticky", "humid")


@dataclass(frozen=True)
class Target:
    """What a report asks: demands that may fall short at a price, and the direction of the wetting index.

    ``index`` is the wetting index the dough had, ``wanted`` the one it is to have; both None for a recipe
    with no powder or no liquid.
    """

    route: Route
    index: float | None
    wanted: float | None
    demands: tuple[Demand, ...]
    source: str

    @property
    def direction(self) -> int:
        """+1 where the index is to rise, -1 where it is to fall, 0 where it is to stay."""
        if self.index is None or self.wanted is None or self.index == self.wanted:
            return 0
        return 1 if self.wanted > self.index else -1


def route_of(
    report: Report, measures: Measures, amounts: Amounts, rules: DoughRules, feels: FeelsFile
) -> Route:
    """Return what a report points to: what its feel does, told apart by signs and the wetting index."""
    feel = feels.feel[report.feel]
    if not feel.told_apart:
        return feel.route
    pointed = [feels.sign[sign].points_to for sign in report.signs]
    dry, loose = pointed.count("dry"), pointed.count("cohesion")
    if dry != loose:
        return "wetter" if dry > loose else "cohesion"
    if (measures.coarse_share.of(amounts) or 0.0) > rules.coarse.share_at_most and not loose:
        return "coarse"
    index = measures.wetness().of(amounts)
    if index is not None and index < rules.cohesion.dry_below_wetness and not loose:
        return "wetter"
    return "cohesion"


def target(
    report: Report,
    measures: Measures,
    amounts: Amounts,
    rules: DoughRules,
    feels: FeelsFile,
    traits: Traits,
    *,
    centre: float | None = None,
    own: bool = False,
    share: float = 1.0,
) -> Target:
    """Return what the report asks.

    Parameters
    ----------
    traits : Traits
        Which components draw moisture and make a dough tacky, and from how much on.
    centre : float, optional
        The wetting index at which this maker's doughs are workable; None without earlier doughs.
    own : bool
        Whether those doughs say more of this recipe than what is believed without them.
    share : float
        How much of the step to take: 1 for the next recipe, less for the bowl.
    """
    route = route_of(report, measures, amounts, rules, feels)
    index = measures.wetness().of(amounts)
    source = _said(report, feels)
    if not index:
        return Target(route, None, None, (), source)
    wanted = _wanted(route, index, report, rules, centre, share)
    band = rules.steps.band
    if wanted < index:
        low, high = wanted * (1 - band), wanted
    elif wanted > index:
        low, high = wanted, wanted * (1 + band)
    else:
        low, high = index * (1 - rules.steps.keep_band), index * (1 + rules.steps.keep_band)
    wetness = Demand(
        id="target:wetness",
        group="wetness",
        target=True,
        in_bowl=True,
        name="wetting index",
        measure=measures.wetness(),
        unit="1",
        kind="dough",
        rank="dough",
        minimum=low,
        maximum=high,
        basis="own" if own else "estimate",
        source=source if centre is None else f"{source}; your earlier doughs",
        binding_room=0.002,
    )
    besides = [
        *_besides(route, report, measures, amounts, rules, source, share),
        *_less_tacky(route, report, measures, amounts, feels, traits, rules, source),
    ]
    return Target(route, index, wanted, (wetness, *besides), source)


def _said(report: Report, feels: FeelsFile) -> str:
    said = f"report: {report.feel.replace('_', ' ')}"
    if feels.feel[report.feel].asks_degree:
        said += f", {report.degree}"
    return ", ".join([said, *(sign.replace("_", " ") for sign in report.signs)])


def _wanted(
    route: Route, index: float, report: Report, rules: DoughRules, centre: float | None, share: float
) -> float:
    step = getattr(rules.steps, report.degree) * share
    if route == "soft":
        return float(index * (1 - step * rules.drying_faults.soft_step_share))
    if route not in ("wetter", "drier"):
        return index
    sign = 1 if route == "wetter" else -1
    stepped = float(index * (1 + sign * step))
    if centre is None:
        return stepped
    learned = index + (centre - index) * share
    smallest = float(index * (1 + sign * rules.steps.band))
    return max(learned, smallest) if sign > 0 else min(learned, smallest)


def _besides(
    route: Route,
    report: Report,
    measures: Measures,
    amounts: Amounts,
    rules: DoughRules,
    source: str,
    share: float,
) -> Sequence[Demand]:
    if route == "cohesion":
        return _cohesion(report, measures, amounts, rules, source, share)
    faults = rules.drying_faults
    if route != "cracks" or not measures.humectants.top:
        return ()
    humectants = measures.humectants.of(amounts) or 0.0
    return (
        Demand(
            id="target:humectant",
            group="humectant",
            target=True,
            name="humectants",
            measure=measures.humectants,
            unit="%",
            kind="dough",
            rank="dough",
            minimum=humectants + faults.humectant_up[report.degree],
            maximum=humectants + faults.humectant_up_at_most,
            about=tuple(sorted(measures.humectants.top)),
            basis=faults.basis,
            source=source,
        ),
    )


def _less_tacky(
    route: Route,
    report: Report,
    measures: Measures,
    amounts: Amounts,
    feels: FeelsFile,
    traits: Traits,
    rules: DoughRules,
    source: str,
) -> Sequence[Demand]:
    """Return the demand for less of what draws moisture, where the report speaks of it."""
    hygroscopic = measures.component(*traits.hygroscopic)
    now = hygroscopic.of(amounts) or 0.0
    told = route == "soft" or any(feels.sign[sign].points_to in _TACKY for sign in report.signs)
    if route == "keep" or not told or now < traits.at_least_percent:
        return ()
    return (
        Demand(
            id="target:hygroscopic",
            group="hygroscopic",
            target=True,
            name="what draws moisture",
            measure=hygroscopic,
            unit="%",
            kind="dough",
            rank="dough",
            maximum=now * (1 - rules.drying_faults.humectant_down[report.degree]),
            about=tuple(sorted(key for key in hygroscopic.top if amounts.get(key))),
            basis=rules.drying_faults.basis,
            source=source,
        ),
    )


def _cohesion(
    report: Report, measures: Measures, amounts: Amounts, rules: DoughRules, source: str, share: float
) -> Sequence[Demand]:
    demands = []
    oil = measures.oil_per_powder.of(amounts)
    if oil:
        demands.append(
            Demand(
                id="target:oil",
                group="oil",
                target=True,
                in_bowl=True,
                name="oil per powder",
                measure=measures.oil_per_powder,
                unit="1",
                kind="dough",
                rank="dough",
                maximum=oil * (1 - share * rules.cohesion.oil_down[report.degree]),
                basis=rules.cohesion.basis,
                source=source,
                binding_room=0.001,
            )
        )
    watery = measures.watery_share.of(amounts)
    if watery is not None:
        demands.append(
            Demand(
                id="target:watery",
                group="watery",
                target=True,
                in_bowl=True,
                name="watery share of the liquids",
                measure=measures.watery_share,
                unit="1",
                kind="dough",
                rank="dough",
                minimum=min(1.0, watery + share * rules.cohesion.watery_up[report.degree]),
                basis=rules.cohesion.basis,
                source=source,
                binding_room=0.002,
            )
        )
    return demands
