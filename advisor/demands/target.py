"""Says what a report asks of the next dough, and of the one in the bowl."""

from collections.abc import Iterable, Iterator

from advisor.demands.aim import NO_PAST, Past, Target
from advisor.demands.context import not_past
from advisor.demands.fats import fat_states
from advisor.demands.in_use import InUse, moves_in_use
from advisor.demands.route import route_of
from advisor.frozen import cached_property, dataclass, replace
from advisor.recipe.demand import Demand, Group, Measure
from advisor.recipe.measures import Amounts, Measures
from advisor.rulebook.bench import Traits
from advisor.rulebook.dough import DoughRules
from advisor.rulebook.feels import Route
from advisor.rulebook.ingredient import Ingredient, folded_name, main_component
from advisor.rulebook.load import Rulebook
from advisor.schema.base import Basis
from advisor.schema.recipe import Report

_TACKY = ("sticky", "humid")


def target(
    report: Report,
    measures: Measures,
    amounts: Amounts,
    rulebook: Rulebook,
    past: Past = NO_PAST,
    *,
    share: float = 1.0,
    grams: float | None = None,
) -> Target:
    """Return what the report asks.

    Parameters
    ----------
    share : float
        How much of the step to take: 1 for the next recipe, less for the bowl.
    grams : float, optional
        Mass of the batch [g].
    """
    return _Asked(report, measures, amounts, rulebook, past, share, grams).target()


def next_wetness(
    index: float, sign: int, step: float, centre: float | None, run: int, share: float, least: float
) -> float:
    """Return the wetting index that a dough off on one side is brought to.

    Parameters
    ----------
    index : float
        The wetting index it had.
    sign : int
        +1 where it was too dry, -1 where it was too wet.
    step : float
        How far the report alone moves it, as a share of itself.
    centre : float, optional
        Where it is most likely workable by all that is believed; None without earlier doughs.
    run : int
        How many doughs in a row were reported on that side, this one among them.
    share : float
        How much of the way to the centre is gone.
    least : float
        The least step, as a share; each further dough of a run doubles it, up to ``step``.

    Examples
    --------
    >>> [round(next_wetness(1.0, -1, 0.05, 0.999, run, 1.0, 0.005), 3) for run in (1, 2, 3, 4, 5)]
    [0.995, 0.99, 0.98, 0.96, 0.95]
    """
    if centre is None:
        return index * (1 + sign * step)
    learned = index + (centre - index) * share
    smallest = index * (1 + sign * min(step, least * 2.0 ** max(run - 1, 0)))
    return max(learned, smallest) if sign > 0 else min(learned, smallest)


@dataclass(frozen=True)
class _Asked:
    report: Report
    measures: Measures
    amounts: Amounts
    rulebook: Rulebook
    past: Past
    share: float
    grams: float | None

    @property
    def rules(self) -> DoughRules:
        return self.rulebook.dough

    @property
    def traits(self) -> Traits:
        return self.rulebook.bench.traits

    @cached_property
    def route(self) -> Route:
        return route_of(
            self.report,
            self.measures,
            self.amounts,
            self.rulebook,
            insisted=self.past.insisted or self.share < 1,
        )

    @cached_property
    def source(self) -> str:
        report = self.report
        said = f"report: {report.feel.replace('_', ' ')}"
        if self.rulebook.feels.feel[report.feel].asks_degree:
            said += f", {report.degree}"
        return ", ".join([said, *(sign.replace("_", " ") for sign in report.signs)])

    def target(self) -> Target:
        states = fat_states(self.report, self.measures, self.amounts, self.rules.fats, self.grams)
        judged = self.measures.wetness_with_set(frozenset(k for k, state in states.items() if state == "set"))
        index = judged.of(self.amounts)
        if not index:
            return Target(self.route, None, None, (), self.source)
        wanted = self._wanted(index)
        demands = [self._wetness(judged, index, wanted), *self._besides(), *self._less_tacky()]
        unknown = frozenset(key for key, state in states.items() if state != "molten")
        limits = [*self._also_when_set(unknown, judged, wanted / index), *self._not_the_wrong_way()]
        return Target(
            self.route, index, wanted, tuple(demands), self.source, tuple(limits), self._no_more_of()
        )

    def _no_more_of(self) -> frozenset[str]:
        """Return what makes a wet dough wetter or a dry one drier, and fats, which are no lever of either."""
        of = self.measures.ingredients
        if self.route == "drier":
            return frozenset(
                key for key, one in of.items() if one.liquid_warm or one.main_role == "structurant"
            )
        return frozenset(
            key for key, one in of.items() if self.route == "wetter" and (one.powder() or one.oil)
        )

    def _wetness(self, judged: Measure, index: float, wanted: float) -> Demand:
        band, keep = self.rules.steps.band, self.rules.steps.keep_band
        low, high = wanted * (1 - keep), wanted * (1 + keep)
        if wanted < index:
            low, high = wanted * (1 - band), wanted
        elif wanted > index:
            low, high = wanted, wanted * (1 + band)
        return self._target(
            "wetness",
            "how wet it is for its powders",
            judged,
            low,
            high,
            basis="own" if self.past.own else "estimate",
            source="" if self.past.centre is None else f"{self.source}; your earlier doughs",
            in_bowl=True,
        )

    def _target(
        self,
        group: Group,
        name: str,
        measure: Measure,
        low: float | None,
        high: float | None,
        *,
        basis: Basis = "estimate",
        source: str = "",
        in_bowl: bool = False,
        about: Iterable[str] = (),
    ) -> Demand:
        return Demand(
            id=f"target:{group}",
            group=group,
            target=True,
            in_bowl=in_bowl,
            name=name,
            measure=measure,
            unit="%" if measure.bottom is None else "1",
            kind="dough",
            rank="dough",
            minimum=low,
            maximum=high,
            about=tuple(sorted(about)),
            basis=basis,
            source=source or self.source,
        )

    def _wanted(self, index: float) -> float:
        route = self.route
        step = float(getattr(self.rules.steps, self.report.degree)) * self.share
        if route == "soft":
            return index * (1 - step * self.rules.drying_faults.soft_step_share)
        if route == "in_use":
            return index * (1 - step * self._in_use.drier)
        if route not in ("wetter", "drier"):
            return index
        sign = 1 if route == "wetter" else -1
        return next_wetness(
            index, sign, step, self.past.centre, self.past.run, self.share, self.rules.steps.least
        )

    def _also_when_set(self, fats: frozenset[str], judged: Measure, factor: float) -> Iterator[Demand]:
        """Return that a dough whose fats may have been set moves the same way with them set."""
        measure = self.measures.wetness_with_set(fats)
        own = measure.of(self.amounts)
        if not fats or not own or measure == judged or factor == 1.0:
            return
        bound = own * (1 + (factor - 1) / 2)
        low, high = (bound, None) if factor > 1 else (None, bound)
        set_too = self._target("wetness", "how wet it is for its powders, fats set", measure, low, high)
        yield replace(set_too, id="wetness-set", target=False, shown_when_met=False)

    def _besides(self) -> Iterator[Demand]:
        if self.route == "cohesion":
            yield from self._cohesion()
        elif self.route == "cracks" and self.measures.humectants.top:
            faults, now = self.rules.drying_faults, self.measures.humectants.of(self.amounts) or 0.0
            yield self._target(
                "humectant",
                "humectants",
                self.measures.humectants,
                now + faults.humectant_up[self.report.degree],
                now + faults.humectant_up_at_most,
                basis=faults.basis,
                about=self.measures.humectants.top,
            )
        elif self.route == "soft":
            yield from self._softer_parts_down()
        elif self.route == "in_use":
            yield from self._in_use.demands

    @cached_property
    def _in_use(self) -> InUse:
        of = self.measures.ingredients
        return moves_in_use(self.report, of, self.amounts, self.rulebook.in_use, self.source)

    def _softer_parts_down(self) -> Iterator[Demand]:
        """Return less of the humectants, where there are enough of them, and of what draws moisture."""
        faults, degree = self.rules.drying_faults, self.report.degree
        humectants = self.measures.humectants
        now = humectants.of(self.amounts) or 0.0
        if now >= faults.soft_humectant_from:
            most = max(faults.soft_humectant_kept, now * (1 - faults.humectant_down[degree]))
            yield self._target(
                "humectant", "humectants", humectants, None, most, basis=faults.basis, about=humectants.top
            )
        drawing = self._hygroscopic_surfactants()
        there = drawing.of(self.amounts) or 0.0
        if there >= faults.hygroscopic_down["slight"]:
            yield self._target(
                "hygroscopic",
                "surfactants that draw moisture",
                drawing,
                None,
                there - min(there, faults.hygroscopic_down[degree]),
                basis=faults.basis,
                about=drawing.top,
            )

    def _hygroscopic_surfactants(self) -> Measure:
        drawing = self._hygroscopic()
        return Measure(
            {
                key: 1.0
                for key, one in self.measures.ingredients.items()
                if one.is_surfactant and main_component(one) in drawing
            },
            None,
            100.0,
        )

    def _hygroscopic(self) -> set[str]:
        return {folded_name(name) for name in self.traits.hygroscopic}

    def _less_tacky(self) -> Iterator[Demand]:
        """Return the demand for less of what draws moisture, where the report speaks of it."""
        hygroscopic = self.measures.component(*self.traits.hygroscopic)
        now = hygroscopic.of(self.amounts) or 0.0
        told = any(self.rulebook.feels.sign[sign].points_to in _TACKY for sign in self.report.signs)
        if (
            self.route in ("keep", "soft", "coarse", "cracks", "in_use")
            or not told
            or now < self.traits.at_least_percent
        ):
            return
        faults = self.rules.drying_faults
        yield self._target(
            "hygroscopic",
            "what draws moisture",
            hygroscopic,
            None,
            now * (1 - faults.humectant_down[self.report.degree]),
            basis=faults.basis,
            about=(key for key in hygroscopic.top if self.amounts.get(key)),
        )

    def _not_the_wrong_way(self) -> Iterator[Demand]:
        """Return that nothing that softens goes up in a soft bar, and no powder in a tacky dough."""
        if self.route == "in_use":
            yield from self._in_use.limits
        elif self.route == "soft":
            for one in self.measures.ingredients.values():
                fatty = one.main_role == "emollient" or (one.main_role == "structurant" and one.oil)
                if fatty or one.main_role == "humectant" or one.holds(*self.traits.softening):
                    yield self._not_more(one, "softens a bar")
        elif self.route == "cracks":
            for one in self.measures.ingredients.values():
                if one.holds(*self.traits.clay):
                    yield self._not_more(one, "shrinks as it dries")
        elif self.route == "sticky":
            drawing = self._hygroscopic()
            for one in self.measures.ingredients.values():
                if main_component(one) in drawing:
                    yield self._not_more(one, "draws moisture")
            powders = self.measures.powders
            limit = self._target("powders", "powders in all", powders, None, powders.of(self.amounts))
            yield replace(limit, id="powders", target=False, shown_when_met=False)

    def _not_more(self, one: Ingredient, why: str) -> Demand:
        basis = self.rules.drying_faults.basis
        return not_past(one, None, self.amounts[one.key], basis=basis, source=self.source, why=f", {why}")

    def _cohesion(self) -> Iterator[Demand]:
        rules, degree = self.rules.cohesion, self.report.degree
        oil = self.measures.oil_per_powder.of(self.amounts)
        if oil and oil > rules.oil_per_powder_down_to:
            most = max(rules.oil_per_powder_down_to, oil * (1 - self.share * rules.oil_down[degree]))
            yield self._target(
                "oil",
                "oil per powder",
                self.measures.oil_per_powder,
                None,
                most,
                basis=rules.basis,
                in_bowl=True,
            )
        watery, aim = self.measures.watery_share.of(self.amounts), self._watery_aim()
        if watery is not None and watery < aim:
            yield self._target(
                "watery",
                "water-based part of the liquids",
                self.measures.watery_share,
                min(aim, watery + self.share * rules.watery_up[degree]),
                None,
                basis=rules.basis,
                in_bowl=True,
            )

    def _watery_aim(self) -> float:
        """Return up to which watery share a crumbling dough is brought.

        Where humectants rule it is that of the last good dough, 0 without one.
        """
        rules, measures = self.rules.cohesion, self.measures
        liquids = measures.liquids.of(self.amounts) or 0.0
        rich = (measures.humectants.of(self.amounts) or 0.0) > rules.humectant_rich * liquids
        return (self.past.last_watery or 0.0) if rich else rules.watery_share_up_to
