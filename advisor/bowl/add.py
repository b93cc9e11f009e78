"""Additions: what to put into a dough in the bowl, out of which nothing can be taken."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

from advisor.bowl.add_schema import AddedLine, AdditionAnswer, AdditionRequest
from advisor.bowl.advice import AdditionAdvice, bowl_text
from advisor.bowl.options import AdditionOptions, bowl_demands, direction_of
from advisor.bowl.shortfalls import in_percent, shortfalls
from advisor.bowl.solve import WHOLE, AdditionPlan, AdditionTask, conflicting_law, plan_addition
from advisor.case.advice import applicable
from advisor.case.case import Case
from advisor.case.reasons import Move, why_added
from advisor.case.refusal import law_cannot_be_restored
from advisor.case.shelf import admitted
from advisor.demands.target import Target, target
from advisor.errors import Fault, InvalidRecipe, InvalidRequest
from advisor.labelling.consequences import learning_notes
from advisor.optimise.steps import fewest_steps, in_parts
from advisor.recipe.demand import Demand
from advisor.recipe.grams import exact_grams, of_steps
from advisor.recipe.notebook import Notebook
from advisor.recipe.request import check_wished_keys, known_materials, read_formula, read_request
from advisor.rulebook.bowl import BowlRules
from advisor.rulebook.load import Rulebook, load_rulebook
from advisor.schema.findings import TextItem
from advisor.schema.recipe import GramLine, GramRecipe

_SHAPED = ("cracks", "soft")


def add(
    request: AdditionRequest | Mapping[str, Any],
    *,
    rulebook: Rulebook | None = None,
    notebook: Notebook | None = None,
) -> AdditionAnswer:
    """Return what to add to a dough in the bowl, in whole steps of the balance, and where that leads.

    Parameters
    ----------
    request : AdditionRequest or mapping
        The dough in grams as it was weighed, what was lost since, the report, the balance [g], and what is
        wished, at hand and known besides.
    rulebook : Rulebook, optional
        Default: the packaged one.
    notebook : Notebook, optional
        What the shop knows besides: its own materials, doughs and measured demands.

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
    rules = rulebook or load_rulebook()
    wanted = read_request(AdditionRequest, request, rules)
    known = known_materials(wanted.materials, rules, notebook)
    formula = read_formula(wanted.recipe, known, wanted.shelf)
    if formula.written.grams is None:
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
        check_wished_keys(wanted.wishes, formula.ingredients, formula.written.percents)
    percents = {key: WHOLE * grams.get(key, 0.0) / weighed for key in formula.keys}
    case = Case.at(
        replace(formula, amounts=percents),
        known,
        wishes=wanted.wishes,
        report=wanted.report,
        history=wanted.history,
    )
    return _Bowl(case, wanted, weighed - lost).answer()


@dataclass(frozen=True)
class _Bowl:
    case: Case
    wanted: AdditionRequest
    mass: float

    @cached_property
    def rules(self) -> BowlRules:
        return self.case.rulebook.bowl

    @cached_property
    def aim(self) -> Target:
        case, dough = self.case, self.case.rulebook.dough
        return target(
            self.wanted.report,
            case.formula.measures,
            case.formula.amounts,
            dough,
            case.rulebook.feels,
            case.rulebook.bench.traits,
            centre=case.centre,
            own=case.own,
            share=dough.steps.bowl_share,
        )

    @property
    def shaped(self) -> bool:
        """Whether the report speaks of bars that have left the bowl."""
        return self.aim.route in _SHAPED

    @cached_property
    def least_grams(self) -> float:
        given = self.wanted.smallest_grams
        return self.wanted.balance_step * self.rules.weights.smallest_steps if given is None else given

    @cached_property
    def offered(self) -> tuple[frozenset[str], tuple[TextItem, ...]]:
        """What may be added: exactly the shelf, else the recipe; with a note on each that is turned away."""
        case, ingredients = self.case, self.case.formula.ingredients
        own = {key: one for key, one in ingredients.items() if case.formula.amounts[key]}
        shelf = own if self.wanted.shelf is None else self.wanted.shelf
        offered, notes = admitted(shelf, own, case)
        if case.wishes.aim == "lowest_cost":
            unpriced = sorted(key for key in offered if ingredients[key].price is None)
            offered -= set(unpriced)
            notes += tuple(bowl_text(self.rules, "no_price", name=ingredients[key].name) for key in unpriced)
        return offered, notes

    @cached_property
    def task(self) -> AdditionTask:
        case, aim = self.case, self.aim
        direction = direction_of(aim.route)
        demands = bowl_demands(
            case.context,
            case.demands,
            drier=direction == "drier",
            dough=aim.index is not None and aim.route != "cohesion",
            step=self._percent(self.wanted.balance_step),
        )
        return AdditionTask(
            available=AdditionOptions(
                case.context,
                self.rules.levers,
                direction,
                self.offered[0],
                own_blend=self.wanted.shelf is None,
                by_price=case.wishes.aim == "lowest_cost",
            ),
            law=[demand for demand in demands if demand.rank == "law"],
            targets=() if self.shaped else [d for d in aim.demands if d.in_bowl],
            bands=[demand for demand in demands if demand.rank != "law"],
            bend_prices=case.rulebook.program.bend_prices.model_dump(),
            step=self._percent(self.wanted.balance_step),
            least=fewest_steps(self.least_grams, self.wanted.balance_step),
            caps=self.rules.caps if aim.index is not None else None,
            newcomers_at_most=case.wishes.new_materials_at_most,
        )

    def _percent(self, grams: float) -> float:
        return WHOLE * grams / self.mass

    def answer(self) -> AdditionAnswer:
        case, report = self.case, self.wanted.report
        planned = plan_addition(self.task)
        if planned is None:
            raise law_cannot_be_restored(self.task.law, conflicting_law(self.task), case)
        process = () if self.aim.route == "keep" else self._process()
        added = {} if process or self.shaped else self._grams(planned.counts)
        bowl = {key: amount * self.mass / WHOLE for key, amount in case.formula.amounts.items()}
        after = {key: grams + added.get(key, 0.0) for key, grams in bowl.items()}
        always = [*self.task.law, *self.task.bands]
        besides = [] if process else list(self.task.targets)
        demands = [*always, *besides]
        stages, left = self._stages(added, planned), self._left(planned, added)
        said = AdditionAdvice(
            case=case,
            aim=self.aim,
            feel=report.feel.replace("_", " "),
            planned=planned,
            mass=self.mass,
            added=added,
            would=self._grams(planned.counts),
            left=left,
            parts=len(stages),
            after=after,
            demands=demands,
            least_grams=self.least_grams,
        )
        guidance = said.shaped() if self.shaped else said.after_process() if process else said.now()
        advice = [*process, *guidance, *self._bench_advice()]
        return AdditionAnswer(
            additions=tuple(self._lines(planned, added, bowl, after, demands)),
            stages=stages,
            second_go=self._in_order(left),
            bowl_after=GramRecipe(name=case.formula.written.name, lines=self._in_order(after)),
            shortfalls=tuple(shortfalls(demands, after)),
            before=case.state(bowl),
            after=case.state(after),
            checks=case.checks(in_percent(after), besides, instead=always),
            advice=tuple(advice),
            questions=applicable(case.rulebook.bench.question, report, case.traits()),
            cautions=case.cautions(after, [item.id for item in advice], added),
            notes=(*case.formula.notes, *self._loss(), *self.offered[1], *learning_notes(case)),
            rules_version=case.rulebook.edition,
        )

    def _process(self) -> tuple[TextItem, ...]:
        """Return what stands before any addition; tack without wetness is first told from wetness."""
        case, report = self.case, self.wanted.report
        found = applicable(case.rulebook.bench.process, report, case.traits())
        pointed = {case.rulebook.feels.sign[sign].points_to for sign in report.signs}
        if self.aim.route == "drier" and "sticky" in pointed:
            return (*found, bowl_text(self.rules, "tack_or_wet"))
        return found

    def _grams(self, counts: Mapping[str, int]) -> dict[str, float]:
        return {key: of_steps(count, self.wanted.balance_step) for key, count in sorted(counts.items())}

    def _lines(
        self,
        planned: AdditionPlan,
        added: Mapping[str, float],
        bowl: Mapping[str, float],
        after: Mapping[str, float],
        demands: Sequence[Demand],
    ) -> Iterable[AddedLine]:
        for key in (key for key in self.case.order if key in added):
            one = self.case.formula.ingredients[key]
            otherwise = "in_blend" if key in planned.blended else "beside"
            tops_up = one.main_role == "preservative"
            yield AddedLine(
                material=key,
                grams=added[key],
                exact_grams=exact_grams(planned.exact.get(key, 0.0) * self.mass / WHOLE),
                why=why_added(
                    Move(one, bowl[key], after[key]),
                    after,
                    demands,
                    otherwise=self.rules.text[otherwise],
                    effect=self.rules.text["tops_up"] if tops_up else "",
                ),
            )

    def _stages(self, added: Mapping[str, float], planned: AdditionPlan) -> tuple[tuple[GramLine, ...], ...]:
        """Return parts of equal size; what is too little for parts goes in with the first."""
        step, least = self.wanted.balance_step, self.task.least
        stages: list[list[GramLine]] = [[] for _ in range(self.rules.stages.parts)]
        for key in (key for key in self.case.order if key in added):
            for stage, count in zip(
                stages, in_parts(planned.counts[key], self.rules.stages.parts, least), strict=False
            ):
                stage.append(GramLine(material=key, grams=of_steps(count, step)))
        return tuple(tuple(stage) for stage in stages if stage)

    def _left(self, planned: AdditionPlan, added: Mapping[str, float]) -> dict[str, float]:
        """Return what the caps leave for later [g], in whole steps."""
        if planned.share >= 1 or not added:
            return {}
        step = self.wanted.balance_step
        more = {
            key: round((amount * self.mass / WHOLE - added.get(key, 0.0)) / step)
            for key, amount in planned.whole.items()
        }
        return {key: of_steps(count, step) for key, count in more.items() if count > 0}

    def _in_order(self, grams: Mapping[str, float]) -> tuple[GramLine, ...]:
        return tuple(
            GramLine(material=key, grams=round(grams[key], 4), lot=self.case.formula.lot(key))
            for key in self.case.order
            if grams.get(key)
        )

    def _bench_advice(self) -> Iterable[TextItem]:
        book = self.case.rulebook
        not_told = set(self.rules.advice.not_for_the_bowl)
        told = applicable(book.bench.advice, self.wanted.report, self.case.traits())
        return (item for item in told if item.id not in not_told)

    def _loss(self) -> tuple[TextItem, ...]:
        lost = self.wanted.lost_grams
        return (bowl_text(self.rules, "loss", grams=f"{lost:g}"),) if lost else ()
