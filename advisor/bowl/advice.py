"""What is said with an addition: how to feed it, what is left, what to declare."""

from collections.abc import Iterable, Mapping, Sequence

from advisor.bowl.options import direction_of, wets
from advisor.bowl.plan import AdditionPlan
from advisor.case.case import Case
from advisor.demands.aim import Target
from advisor.frozen import cached_property, dataclass
from advisor.optimise.problem import CERTIFIED
from advisor.recipe.demand import Demand
from advisor.recipe.grams import listed, of_steps
from advisor.rulebook.bowl import BowlRules
from advisor.schema.base import WHOLE
from advisor.schema.findings import TextItem

_NEARLY = 0.01
_NEEDED = {
    "wetter": "needed_liquid",
    "binding": "needed_liquid",
    "drier": "needed_powder",
    "both": "needed_any",
}
_SHOWN = 1e-4


@dataclass(frozen=True)
class AdditionAdvice:
    """What an addition came to.

    ``added`` goes in now, ``left`` waits for a second go, ``would`` is what would go in if the report still
    held after what stands before any addition [g]; ``mass`` is the bowl before, ``after`` the bowl
    afterwards [g], ``step`` what the balance reads to [g].
    """

    case: Case
    aim: Target
    feel: str
    plan: AdditionPlan
    mass: float
    added: Mapping[str, float]
    would: Mapping[str, float]
    left: Mapping[str, float]
    parts: int
    after: Mapping[str, float]
    demands: Sequence[Demand]
    step: float

    @property
    def _rules(self) -> BowlRules:
        return self.case.rulebook.bowl

    def _named(self, grams: Mapping[str, float]) -> str:
        names = {key: self.case.formula.ingredients[key].name for key in grams}
        return listed(f"{grams[key]:g} g {names[key]}" for key in self.case.order if key in grams)

    def out_of_the_bowl(self) -> Iterable[TextItem]:
        """Say that bars which left the bowl get nothing more."""
        yield self._rules.said("shaped")

    def after_process(self) -> Iterable[TextItem]:
        """Say what would be added if the dough is still so after what stands before any addition."""
        if self.would:
            yield self._rules.said("process_first", feel=self.feel, grams=self._named(self.would))
        else:
            yield self._rules.said("process_only")

    def now(self) -> Iterable[TextItem]:
        """Say how to feed what is added, what cannot be reached, and what to declare."""
        if self._unlawful:
            yield self._rules.said("law_first", limits=listed(self._unlawful))
        if self.added:
            yield from self._feeding()
        else:
            yield from self._nothing()
        if self.plan.hopeless:
            yield self._hopeless()
        if self.aim.route == "cohesion":
            yield self._rules.said("cohesion" if self.case.formula.measures.oils.of(self.after) else "no_oil")
        for demand in self._missed():
            if demand.kind == "wish":
                yield self._declare(demand)
        yield from self._preservatives()
        if self.added and self.aim.direction:
            yield self._rules.said(self._way())

    def _preservatives(self) -> Iterable[TextItem]:
        """Say what becomes of each preservative."""
        bowl, whole = self.case.formula.amounts, sum(self.after.values())
        low = {d.about[0]: d.minimum for d in self._missed() if d.group == "preserved"}
        for key in self.case.order:
            one, after = self.case.formula.ingredients[key], WHOLE * self.after[key] / whole
            if one.main_role != "preservative" or bowl[key] - after < _SHOWN:
                continue
            level = {"name": one.name, "before": f"{bowl[key]:.3g}", "level": f"{after:.3g}"}
            if key in low:
                yield self._rules.said("below_working_level", **level, low=f"{low[key]:g}")
            else:
                yield self._rules.said("preservative_after", **level)
            lost = bowl[key] / WHOLE * whole - self.after[key]
            if lost >= self.step and any(wets(self.case.formula.ingredients[other]) for other in self.added):
                grams = of_steps(round(lost / self.step), self.step)
                yield self._rules.said("top_up", name=one.name, grams=f"{grams:g}", before=level["before"])

    def _missed(self) -> list[Demand]:
        return [demand for demand in self.demands if demand.gap(self.after) > CERTIFIED]

    @cached_property
    def _unlawful(self) -> tuple[str, ...]:
        """The names of the limits of the law that the bowl passes as it is."""
        bowl = self.case.formula.amounts
        passed = (d.name for d in self.demands if d.rank == "law" and d.gap(bowl) > CERTIFIED)
        return tuple(dict.fromkeys(passed))

    def _hopeless(self) -> TextItem:
        most = f"{WHOLE * self._rules.caps.in_all:g}"
        if self._unlawful:
            return self._rules.said("hopeless_law", share=most)
        return self._rules.said("hopeless", share=most, rework=f"{WHOLE * self._rules.rework.at_most:g}")

    def _feeding(self) -> Iterable[TextItem]:
        stages = self._rules.stages
        times = {"knead": f"{stages.knead_minutes}", "rest": f"{stages.rest_minutes}"}
        if self.parts > 1:
            yield self._rules.said(
                "staged_whole" if self._unlawful else "staged", parts=f"{self.parts}", **times
            )
        else:
            yield self._rules.said("single", **times)
        ingredients = self.case.formula.ingredients
        topped = {key: g for key, g in self.added.items() if ingredients[key].main_role == "preservative"}
        if topped:
            carried = any(wets(ingredients[key]) for key in self.added if key not in topped)
            yield self._rules.said("premix_liquid" if carried else "premix_powder", what=self._named(topped))
        yield from self._to_feel()
        if self.left:
            yield self._second_go()

    def _to_feel(self) -> Iterable[TextItem]:
        """Say how to feed what the balance is too coarse for."""
        if self._is_coarse(self.added):
            ingredients = self.case.formula.ingredients
            liquid = {key: grams for key, grams in self.added.items() if wets(ingredients[key])}
            by_drops = bool(liquid) and self._is_coarse(liquid)
            yield self._rules.said("drops" if by_drops else "to_feel", step=f"{self.step:g}")

    def _second_go(self) -> TextItem:
        caps, more = self._rules.caps, max(1, self.plan.goes - 1)
        lawful = all(demand.rank != "law" for demand in self._missed())
        return self._rules.said(
            "second_go" if lawful else "law_left",
            liquid=f"{WHOLE * caps.liquid:g}",
            powder=f"{WHOLE * caps.powder:g}",
            left=self._named(self.left),
            goes=f"{more} more goes, each after a rest" if more > 1 else "1 more go after a rest",
        )

    def _is_coarse(self, grams: Mapping[str, float]) -> bool:
        """Whether a part of an addition is too few steps of the balance to be weighed well."""
        return max(grams.values()) / self.parts < self._rules.stages.drops_below_steps * self.step - _SHOWN

    def _way(self) -> str:
        """Return which sentence says how far towards the target the dough is brought."""
        in_all = {key: grams + self.left.get(key, 0.0) for key, grams in self.after.items()}
        target = next(demand for demand in self.demands if demand.target and demand.group == "wetness")
        if target.gap(in_all) <= _NEARLY * (self.aim.wanted or 0.0):
            return "both_goes" if self.left else "half_way"
        low = (target.measure.of(in_all) or 0.0) < (target.minimum or 0.0)
        return "short_of_half" if low == (self.aim.direction > 0) else "past_half"

    def _nothing(self) -> Iterable[TextItem]:
        if not self._missed():
            yield self._rules.said("nothing_needed")
        elif self.plan.exact:
            exact = {key: float(f"{p * self.mass / WHOLE:.2g}") for key, p in self.plan.exact.items()}
            liquid = sum(g for key, g in exact.items() if wets(self.case.formula.ingredients[key]))
            text = self._rules.text["too_fine_liquid" if liquid else "too_fine_powder"]
            drops = max(1, round(liquid / self.case.rulebook.acidity.units.drops))
            figures = {"step": f"{self.step:g}", "exact": self._named(exact), "drops": f"{drops}"}
            yield TextItem(id="too-fine", text=text.format(**figures))
        else:
            needed = _NEEDED[direction_of(self.aim.route)]
            yield self._rules.said("nothing_at_hand", needed=self._rules.text[needed])

    def _declare(self, demand: Demand) -> TextItem:
        value = demand.measure.of(self.after) or 0.0
        under = demand.minimum is not None and value < demand.minimum
        bound = demand.minimum if under else demand.maximum
        item = self._rules.said(
            "declare",
            name=demand.name,
            value=f"{value:.2f}",
            unit=demand.unit,
            bound=f"{'at least' if under else 'at most'} {bound:.2f} {demand.unit}",
        )
        return TextItem(id=f"declare-{demand.group.replace('_', '-')}", text=item.text)
