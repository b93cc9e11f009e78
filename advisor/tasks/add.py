"""The one place of additions: what to put into a dough in the bowl, out of which nothing can be taken."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

from advisor.errors import Fault, InvalidRecipe, InvalidRequest
from advisor.figures import BowlRules
from advisor.program.problem import CERTIFIED
from advisor.program.steps import fewest_steps, in_parts
from advisor.rulebook import Rulebook, load_rulebook
from advisor.shapes.addition import AddedLine, AdditionAnswer, AdditionRequest
from advisor.shapes.findings import TextItem
from advisor.shapes.recipe import GramLine, GramRecipe
from advisor.tasks.door import asked, bench, check_wished_keys, known_materials
from advisor.tasks.pouring import WHOLE, Pour, Poured, conflicting_law, pour
from advisor.tasks.refuse import law_cannot_be_restored
from advisor.tasks.shelf import admitted
from advisor.tasks.shortfalls import in_percent, shortfalls
from advisor.tasks.standing import Look
from advisor.trade.bowl import Cupboard, bowl_demands, direction_of, wets
from advisor.trade.demand import Demand
from advisor.trade.explain import Move, why_added
from advisor.trade.grams import exact_grams, listed, of_steps
from advisor.trade.target import Target, target
from advisor.trade.telling import applicable

_IN_THE_BOWL = ("target:wetness", "target:oil", "target:watery")
_SHAPED = ("cracks", "soft")


def add(request: AdditionRequest | Mapping[str, Any], *, rulebook: Rulebook | None = None) -> AdditionAnswer:
    """Return what to add to a dough in the bowl, in whole steps of the balance, and where that leads.

    Parameters
    ----------
    request : AdditionRequest or mapping
        The dough in grams as it was weighed, what was lost since, the report, the balance [g], and what is
        wished, at hand and known besides.
    rulebook : Rulebook, optional
        Default: the packaged one.

    Raises
    ------
    InvalidRequest, InvalidRecipe, UnknownMaterial
        The request is wrong; each place is named. A recipe in percent does not say what is in a bowl.
    NoRecipeFits
        A limit of the law is passed and no addition restores it.

    Notes
    -----
    An addition goes half the way of a new recipe. What cannot be met is no error but a shortfall.

    Examples
    --------
    >>> lines = [{"material": "betaine-30", "grams": 150}, {"material": "isethionate-powder", "grams": 300},
    ...     {"material": "kaolin", "grams": 50}]
    >>> bowl = {"recipe": {"lines": lines}, "report": {"feel": "too_wet", "degree": "slight"}}
    >>> answer = add({**bowl, "balance_step": 0.1, "shelf": ["kaolin"]})
    >>> [(line.material, line.grams) for line in answer.additions]
    [('kaolin', 9.0)]
    """
    wanted = asked(AdditionRequest, request)
    rules = rulebook or load_rulebook()
    known = known_materials(wanted.materials, rules)
    benched = bench(wanted.recipe, known, wanted.shelf)
    if benched.written.grams is None:
        raise InvalidRecipe(
            "What is in a bowl is known in grams only.",
            [Fault("/recipe/lines", "is in percent", "give every line in grams, as it was weighed")],
        )
    grams = {line.material: line.grams or 0.0 for line in wanted.recipe.lines}
    weighed, lost = sum(grams.values()), wanted.lost_grams or 0.0
    if lost >= weighed:
        raise InvalidRequest(
            "Nothing is left in the bowl.",
            [Fault("/lost_grams", f"is not less than the {weighed:g} g that were weighed")],
        )
    if wanted.wishes:
        check_wished_keys(wanted.wishes, benched.ingredients, benched.written.percents)
    percents = {key: WHOLE * grams.get(key, 0.0) / weighed for key in benched.keys}
    look = Look.at(
        replace(benched, amounts=percents),
        known,
        wishes=wanted.wishes,
        report=wanted.report,
        history=wanted.history,
    )
    return _Bowl(look, wanted, weighed - lost).answer()


@dataclass(frozen=True)
class _Bowl:
    look: Look
    wanted: AdditionRequest
    mass: float

    @cached_property
    def rules(self) -> BowlRules:
        return self.look.rulebook.bowl

    @cached_property
    def aim(self) -> Target:
        look, dough = self.look, self.look.rulebook.dough
        return target(
            self.wanted.report,
            look.bench.measures,
            look.bench.amounts,
            dough,
            look.rulebook.feels,
            look.rulebook.bench.traits.hygroscopic,
            centre=look.centre,
            share=dough.steps.bowl_share,
        )

    @cached_property
    def least_grams(self) -> float:
        given = self.wanted.smallest_grams
        return self.wanted.balance_step * self.rules.weights.smallest_steps if given is None else given

    @cached_property
    def offered(self) -> tuple[frozenset[str], tuple[TextItem, ...]]:
        """What may be added: exactly the shelf, else the recipe; with a note on each that is turned away."""
        look, ingredients = self.look, self.look.bench.ingredients
        own = {key: one for key, one in ingredients.items() if look.bench.amounts[key]}
        shelf = own if self.wanted.shelf is None else self.wanted.shelf
        offered, notes = admitted(shelf, own, ingredients, look.rulebook)
        if look.wishes.aim == "lowest_cost":
            unpriced = sorted(key for key in offered if ingredients[key].price is None)
            offered -= set(unpriced)
            notes += tuple(self._text("no_price", name=ingredients[key].name) for key in unpriced)
        return offered, notes

    @cached_property
    def task(self) -> Pour:
        look, aim = self.look, self.aim
        shaped = aim.route in _SHAPED
        direction = direction_of(aim.route)
        demands = bowl_demands(
            look.standing,
            look.demands,
            drier=direction == "drier",
            dough=aim.index is not None and aim.route != "cohesion",
            step=self._percent(self.wanted.balance_step),
        )
        return Pour(
            cupboard=Cupboard(
                look.standing,
                self.rules.levers,
                direction,
                self.offered[0],
                own_blend=self.wanted.shelf is None,
                by_price=look.wishes.aim == "lowest_cost",
            ),
            law=[demand for demand in demands if demand.rank == "law"],
            targets=() if shaped else [d for d in aim.demands if d.id in _IN_THE_BOWL],
            bands=() if shaped else [demand for demand in demands if demand.rank != "law"],
            bend_prices=look.rulebook.program.bend_prices.model_dump(),
            step=self._percent(self.wanted.balance_step),
            least=fewest_steps(self.least_grams, self.wanted.balance_step),
            caps=self.rules.caps if aim.index is not None else None,
            newcomers_at_most=look.wishes.new_materials_at_most,
        )

    def _percent(self, grams: float) -> float:
        return WHOLE * grams / self.mass

    def answer(self) -> AdditionAnswer:
        look, report = self.look, self.wanted.report
        poured = pour(self.task)
        if poured is None:
            raise law_cannot_be_restored(self.task.law, conflicting_law(self.task), look)
        process = () if self.aim.route == "keep" else self._process()
        added = {} if process else self._grams(poured.counts)
        bowl = {key: amount * self.mass / WHOLE for key, amount in look.bench.amounts.items()}
        after = {key: grams + added.get(key, 0.0) for key, grams in bowl.items()}
        demands = [*self.task.law, *self.task.bands] or list(self.task.law)
        besides = [] if process else list(self.task.targets)
        missed = shortfalls([*demands, *besides], after)
        traits = look.traits()
        not_told = set(self.rules.advice.not_for_the_bowl)
        advice = [
            *process,
            *self._advice(poured, added, process, [*demands, *besides], after),
            *(a for a in applicable(look.rulebook.bench.advice, report, traits) if a.id not in not_told),
        ]
        return AdditionAnswer(
            additions=tuple(self._lines(poured, added, bowl, after, [*demands, *besides])),
            stages=self._stages(added, poured),
            second_go=self._second_go(poured, added),
            bowl_after=GramRecipe(
                name=look.bench.written.name,
                lines=tuple(
                    GramLine(material=key, grams=round(after[key], 4)) for key in look.order if after[key]
                ),
            ),
            shortfalls=tuple(missed),
            before=look.state(bowl),
            after=look.state(after),
            checks=look.checks(in_percent(after), besides, instead=demands),
            advice=tuple(advice),
            questions=applicable(look.rulebook.bench.question, report, traits),
            cautions=look.cautions(after, [item.id for item in advice]),
            notes=(*look.bench.notes, *self._loss(), *self.offered[1]),
            rules_version=look.rulebook.edition,
        )

    def _process(self) -> tuple[TextItem, ...]:
        look = self.look
        return applicable(look.rulebook.bench.process, self.wanted.report, look.traits())

    def _grams(self, counts: Mapping[str, int]) -> dict[str, float]:
        return {key: of_steps(count, self.wanted.balance_step) for key, count in sorted(counts.items())}

    def _lines(
        self,
        poured: Poured,
        added: Mapping[str, float],
        bowl: Mapping[str, float],
        after: Mapping[str, float],
        demands: Sequence[Demand],
    ) -> Iterable[AddedLine]:
        for key in (key for key in self.look.order if key in added):
            one = self.look.bench.ingredients[key]
            otherwise = "in_blend" if key in poured.blended else "beside"
            tops_up = one.main_role == "preservative"
            yield AddedLine(
                material=key,
                grams=added[key],
                exact_grams=exact_grams(poured.exact.get(key, 0.0) * self.mass / WHOLE),
                why=why_added(
                    Move(one, bowl[key], after[key]),
                    after,
                    demands,
                    otherwise=self.rules.text[otherwise],
                    effect=self.rules.text["tops_up"] if tops_up else "",
                ),
            )

    def _stages(self, added: Mapping[str, float], poured: Poured) -> tuple[tuple[GramLine, ...], ...]:
        """Return parts of equal size; what is too little for parts goes in with the first."""
        step, least = self.wanted.balance_step, self.task.least
        stages: list[list[GramLine]] = [[] for _ in range(self.rules.stages.parts)]
        for key in (key for key in self.look.order if key in added):
            for stage, count in zip(
                stages, in_parts(poured.counts[key], self.rules.stages.parts, least), strict=False
            ):
                stage.append(GramLine(material=key, grams=of_steps(count, step)))
        return tuple(tuple(stage) for stage in stages if stage)

    def _second_go(self, poured: Poured, added: Mapping[str, float]) -> tuple[GramLine, ...]:
        """Return what the caps leave for later, in whole steps."""
        if poured.share >= 1 or not added:
            return ()
        left = {}
        for key, amount in poured.whole.items():
            more = amount * self.mass / WHOLE - added.get(key, 0.0)
            steps = round(more / self.wanted.balance_step)
            if steps > 0:
                left[key] = of_steps(steps, self.wanted.balance_step)
        return tuple(GramLine(material=key, grams=left[key]) for key in self.look.order if key in left)

    def _loss(self) -> tuple[TextItem, ...]:
        lost = self.wanted.lost_grams
        return (self._text("loss", grams=f"{lost:g}"),) if lost else ()

    def _text(self, kind: str, **filled: str) -> TextItem:
        return TextItem(id=kind.replace("_", "-"), text=self.rules.text[kind].format(**filled))

    def _named(self, grams: Mapping[str, float]) -> str:
        names = {key: self.look.bench.ingredients[key].name for key in grams}
        return listed(f"{grams[key]:g} g {names[key]}" for key in self.look.order if key in grams)

    def _advice(
        self,
        poured: Poured,
        added: Mapping[str, float],
        process: Sequence[TextItem],
        demands: Sequence[Demand],
        after: Mapping[str, float],
    ) -> Iterable[TextItem]:
        would = self._grams(poured.counts)
        feel = self.wanted.report.feel.replace("_", " ")
        if self.aim.route in _SHAPED:
            yield self._text("shaped")
        elif process:
            yield (
                self._text("process_first", feel=feel, grams=self._named(would))
                if would
                else self._text("process_only")
            )
        elif added:
            yield from self._feeding(poured, added)
        if poured.hopeless and not process:
            caps, rework = self.rules.caps, self.rules.rework
            yield self._text(
                "hopeless", share=f"{WHOLE * caps.in_all:g}", rework=f"{WHOLE * rework.at_most:g}"
            )
        if process or self.aim.route in _SHAPED:
            return
        missed = [demand for demand in demands if demand.gap(after) > CERTIFIED]
        if not added:
            yield from self._nothing(poured, missed)
        if self.aim.route == "cohesion":
            yield self._text("cohesion")
        yield from (self._declare(demand, after) for demand in missed if demand.kind == "wish")

    def _feeding(self, poured: Poured, added: Mapping[str, float]) -> Iterable[TextItem]:
        rules, look = self.rules, self.look
        times = {"knead": f"{rules.stages.knead_minutes}", "rest": f"{rules.stages.rest_minutes}"}
        parts = len(self._stages(added, poured))
        yield self._text("staged", parts=f"{parts}", **times) if parts > 1 else self._text("single", **times)
        topped = {
            key: grams
            for key, grams in added.items()
            if look.bench.ingredients[key].main_role == "preservative"
        }
        if topped:
            carried = any(wets(look.bench.ingredients[key]) for key in added if key not in topped)
            kind = "premix_liquid" if carried else "premix_powder"
            yield self._text(kind, what=self._named(topped))
        left = {line.material: line.grams for line in self._second_go(poured, added)}
        if left:
            caps = rules.caps
            yield self._text(
                "second_go",
                liquid=f"{WHOLE * caps.liquid:g}",
                powder=f"{WHOLE * caps.powder:g}",
                left=self._named(left),
            )
        if self.aim.direction:
            yield self._text("half_way")

    def _nothing(self, poured: Poured, missed: Sequence[Demand]) -> Iterable[TextItem]:
        if not missed:
            yield self._text("nothing_needed")
        elif poured.exact:
            yield self._text("too_fine", smallest=f"{self.least_grams:g}")
        else:
            needed = {"wetter": "needed_liquid", "drier": "needed_powder"}
            kind = needed.get(direction_of(self.aim.route), "needed_any")
            yield self._text("nothing_at_hand", needed=self.rules.text[kind])

    def _declare(self, demand: Demand, after: Mapping[str, float]) -> TextItem:
        value = demand.measure.of(after) or 0.0
        under = demand.minimum is not None and value < demand.minimum
        bound = demand.minimum if under else demand.maximum
        side = "at least" if under else "at most"
        text = self.rules.text["declare"].format(
            name=demand.name,
            value=f"{value:.2f}",
            unit=demand.unit,
            bound=f"{side} {bound:.2f} {demand.unit}",
        )
        return TextItem(id=f"declare-{demand.id.partition(':')[0]}", text=text)
