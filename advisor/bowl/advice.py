"""What is said with an addition: how to feed it, what is left, what to declare."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from advisor.bowl.options import direction_of, wets
from advisor.bowl.solve import WHOLE, AdditionPlan
from advisor.case.case import Case
from advisor.demands.target import Target
from advisor.optimise.problem import CERTIFIED
from advisor.recipe.demand import Demand
from advisor.recipe.grams import exact_grams, listed
from advisor.rulebook.bowl import BowlRules
from advisor.schema.findings import TextItem

_NEARLY = 0.01
_NEEDED = {"wetter": "needed_liquid", "drier": "needed_powder", "both": "needed_any"}


def bowl_text(rules: BowlRules, kind: str, **filled: str) -> TextItem:
    """Return one of the sentences about a bowl, with what it names filled in."""
    return TextItem(id=kind.replace("_", "-"), text=rules.text[kind].format(**filled))


@dataclass(frozen=True)
class AdditionAdvice:
    """What an addition came to.

    ``added`` goes in now, ``left`` waits for a second go, ``would`` is what would go in if the report still
    held after what stands before any addition [g]; ``mass`` is the bowl before, ``after`` the bowl
    afterwards [g].
    """

    case: Case
    aim: Target
    feel: str
    planned: AdditionPlan
    mass: float
    added: Mapping[str, float]
    would: Mapping[str, float]
    left: Mapping[str, float]
    parts: int
    after: Mapping[str, float]
    demands: Sequence[Demand]
    least_grams: float

    @property
    def _rules(self) -> BowlRules:
        return self.case.rulebook.bowl

    def _text(self, kind: str, **filled: str) -> TextItem:
        return bowl_text(self._rules, kind, **filled)

    def _named(self, grams: Mapping[str, float]) -> str:
        names = {key: self.case.formula.ingredients[key].name for key in grams}
        return listed(f"{grams[key]:g} g {names[key]}" for key in self.case.order if key in grams)

    def shaped(self) -> Iterable[TextItem]:
        """Say that bars which left the bowl get nothing more."""
        yield self._text("shaped")

    def after_process(self) -> Iterable[TextItem]:
        """Say what would be added if the dough is still so after what stands before any addition."""
        if self.would:
            yield self._text("process_first", feel=self.feel, grams=self._named(self.would))
        else:
            yield self._text("process_only")

    def now(self) -> Iterable[TextItem]:
        """Say how to feed what is added, what cannot be reached, and what to declare."""
        if self._unlawful:
            yield self._text("law_first", limits=listed(self._unlawful))
        if self.added:
            yield from self._feeding()
        else:
            yield from self._nothing()
        if self.planned.hopeless:
            yield self._hopeless()
        if self.aim.route == "cohesion":
            yield self._text("cohesion" if self.case.formula.measures.oils.of(self.after) else "no_oil")
        for demand in self._missed():
            if demand.kind == "wish":
                yield self._declare(demand)
            elif demand.group == "preserved":
                value = demand.measure.of(self.after) or 0.0
                yield self._text(
                    "below_working_level",
                    name=self.case.formula.ingredients[demand.about[0]].name,
                    level=f"{value:.3g}",
                    low=f"{demand.minimum:g}",
                )

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
            return self._text("hopeless_law", share=most)
        return self._text("hopeless", share=most, rework=f"{WHOLE * self._rules.rework.at_most:g}")

    def _feeding(self) -> Iterable[TextItem]:
        stages = self._rules.stages
        times = {"knead": f"{stages.knead_minutes}", "rest": f"{stages.rest_minutes}"}
        if self.parts > 1:
            yield self._text("staged_whole" if self._unlawful else "staged", parts=f"{self.parts}", **times)
        else:
            yield self._text("single", **times)
        ingredients = self.case.formula.ingredients
        topped = {key: g for key, g in self.added.items() if ingredients[key].main_role == "preservative"}
        if topped:
            carried = any(wets(ingredients[key]) for key in self.added if key not in topped)
            yield self._text("premix_liquid" if carried else "premix_powder", what=self._named(topped))
        if self.left:
            yield self._second_go()
        if self.aim.direction:
            yield self._text(self._way())

    def _second_go(self) -> TextItem:
        caps = self._rules.caps
        lawful = all(demand.rank != "law" for demand in self._missed())
        return self._text(
            "second_go" if lawful else "law_left",
            liquid=f"{WHOLE * caps.liquid:g}",
            powder=f"{WHOLE * caps.powder:g}",
            left=self._named(self.left),
        )

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
            yield self._text("nothing_needed")
        elif self.planned.exact:
            exact = {key: float(f"{p * self.mass / WHOLE:.3g}") for key, p in self.planned.exact.items()}
            yield self._text(
                "too_fine", smallest=f"{exact_grams(self.least_grams):g}", exact=self._named(exact)
            )
        else:
            needed = _NEEDED[direction_of(self.aim.route)]
            yield self._text("nothing_at_hand", needed=self._rules.text[needed])

    def _declare(self, demand: Demand) -> TextItem:
        value = demand.measure.of(self.after) or 0.0
        under = demand.minimum is not None and value < demand.minimum
        bound = demand.minimum if under else demand.maximum
        told = self._text(
            "declare",
            name=demand.name,
            value=f"{value:.2f}",
            unit=demand.unit,
            bound=f"{'at least' if under else 'at most'} {bound:.2f} {demand.unit}",
        )
        return TextItem(id=f"declare-{demand.group.replace('_', '-')}", text=told.text)
