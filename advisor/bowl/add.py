"""Additions: what to put into a dough in the bowl, out of which nothing can be taken."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from advisor.bowl.advice import AdditionAdvice
from advisor.bowl.asked import bowl_demands, watery_dose
from advisor.bowl.options import AdditionOptions, direction_of
from advisor.bowl.plan import AdditionPlan, AdditionTask, conflicting_law, plan_addition
from advisor.bowl.schema import AddedLine, AdditionAnswer, AdditionRequest
from advisor.bowl.shortfalls import as_weighed, in_percent, shortfalls
from advisor.bowl.stages import in_stages, portion_at_most
from advisor.case.advice import applicable
from advisor.case.case import Case, Reading
from advisor.case.reasons import Move, why_added
from advisor.case.refusal import law_cannot_be_restored
from advisor.case.shelf import admitted
from advisor.case.watch import cautions_of
from advisor.demands.aim import Target
from advisor.demands.target import target
from advisor.errors import Fault, InvalidRecipe, InvalidRequest
from advisor.frozen import cached_property, dataclass, replace
from advisor.labelling.notes import law_notes, learning_notes
from advisor.optimise.steps import fewest_steps
from advisor.recipe.demand import Demand
from advisor.recipe.grams import exact_grams, of_steps
from advisor.recipe.notebook import Notebook
from advisor.recipe.request import check_wished_keys, opened, read_formula
from advisor.rulebook.bowl import BowlRules
from advisor.rulebook.load import Rulebook
from advisor.schema.base import WHOLE
from advisor.schema.findings import TextItem
from advisor.schema.recipe import GramLine, GramRecipe

_OUT_OF_THE_BOWL = ("cracks", "soft", "in_use")


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
    wanted, known = opened(AdditionRequest, request, rulebook, notebook)
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
        reading=Reading.of(wanted),
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
        case = self.case
        return target(
            self.wanted.report,
            case.formula.measures,
            case.formula.amounts,
            case.rulebook,
            case.learned.past,
            share=case.rulebook.dough.steps.bowl_share,
        )

    @property
    def left_the_bowl(self) -> bool:
        """Whether the report speaks of bars that have left the bowl."""
        return self.aim.route in _OUT_OF_THE_BOWL

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
            notes += tuple(self.rules.said("no_price", name=ingredients[key].name) for key in unpriced)
        return offered, notes

    @cached_property
    def available(self) -> AdditionOptions:
        """What may be reached for."""
        return AdditionOptions(
            self.case.context,
            self.rules.levers,
            direction_of(self.aim.route),
            self.offered[0],
            own_blend=self.wanted.shelf is None,
            by_price=self.case.wishes.aim == "lowest_cost",
        )

    def _targets(self) -> tuple[Demand, ...]:
        """Return what the report asks of the bowl; a dough that crumbles gets a dose, not a new balance."""
        if self.left_the_bowl:
            return ()
        if self.aim.route == "cohesion" and self.aim.index is not None:
            share = self.rules.binding.dose[self.wanted.report.degree]
            return (watery_dose(self.case.context, self.available.levers, share, self.aim.source),)
        return tuple(demand for demand in self.aim.demands if demand.in_bowl)

    @cached_property
    def task(self) -> AdditionTask:
        """What is asked of the program."""
        case, aim = self.case, self.aim
        demands = bowl_demands(
            case.context,
            case.demands,
            drier=aim.route == "drier",
            dough=aim.index is not None and aim.route != "cohesion",
        )
        smallest = self.wanted.smallest_grams
        return AdditionTask(
            available=self.available,
            law=[demand for demand in demands if demand.rank == "law"],
            targets=self._targets(),
            bands=[demand for demand in demands if demand.rank != "law"],
            bend_prices=case.rulebook.program.bend_prices.model_dump(),
            step=WHOLE * self.wanted.balance_step / self.mass,
            least=1 if smallest is None else fewest_steps(smallest, self.wanted.balance_step),
            caps=self.rules.caps if aim.index is not None else None,
            newcomers_at_most=case.wishes.new_materials_at_most,
        )

    def answer(self) -> AdditionAnswer:
        """Return the answer."""
        case, report = self.case, self.wanted.report
        plan = plan_addition(self.task)
        if plan is None:
            raise law_cannot_be_restored(self.task.law, conflicting_law(self.task), case)
        process = () if self.aim.route == "keep" else self._process()
        added = {} if process or self.left_the_bowl else self._grams(plan.counts)
        bowl = {key: amount * self.mass / WHOLE for key, amount in case.formula.amounts.items()}
        after = {key: grams + added.get(key, 0.0) for key, grams in bowl.items()}
        always = [*self.task.law, *as_weighed(self.task.bands, after, self.wanted.balance_step)]
        besides = [] if process else list(self.task.targets)
        demands = [*always, *besides]
        stages, left = self._stages(plan) if added else (), self._left(plan, added)
        words = AdditionAdvice(
            case=case,
            aim=self.aim,
            feel=report.feel.replace("_", " "),
            plan=plan,
            mass=self.mass,
            added=added,
            would=self._grams(plan.counts),
            left=left,
            parts=len(stages),
            after=after,
            demands=demands,
            step=self.wanted.balance_step,
        )
        if self.left_the_bowl:
            guidance = words.out_of_the_bowl()
        else:
            guidance = words.after_process() if process else words.now()
        advice = [*process, *guidance, *self._bench_advice()]
        return AdditionAnswer(
            additions=tuple(self._lines(plan, added, bowl, after, demands)),
            stages=stages,
            second_go=self._in_order(left),
            bowl_after=GramRecipe(name=case.formula.written.name, lines=self._in_order(after)),
            shortfalls=tuple(shortfalls(demands, after)),
            before=case.state(bowl),
            after=case.state(after),
            checks=case.checks(in_percent(after), besides, instead=always),
            advice=tuple(advice),
            questions=applicable(case.rulebook.bench.question, report, case.traits),
            cautions=cautions_of(
                case, after, advice=[item.id for item in advice], grams=added, handled=added
            ),
            notes=(
                *case.formula.notes,
                *self._loss(),
                *self.offered[1],
                *law_notes(case, after),
                *learning_notes(case),
            ),
            rules_version=case.rulebook.edition,
        )

    def _process(self) -> tuple[TextItem, ...]:
        """Return what stands before any addition; tack without wetness is first told from wetness."""
        case, report = self.case, self.wanted.report
        found = applicable(case.rulebook.bench.process, report, case.traits)
        if self.aim.route == "drier" and self._sticky:
            return (*found, self.rules.said("tack_or_wet"))
        return found

    @property
    def _sticky(self) -> bool:
        """Whether a sign of tack was reported."""
        signs = self.case.rulebook.feels.sign
        return any(signs[sign].points_to == "sticky" for sign in self.wanted.report.signs)

    def _grams(self, counts: Mapping[str, int]) -> dict[str, float]:
        return {key: of_steps(count, self.wanted.balance_step) for key, count in sorted(counts.items())}

    def _lines(
        self,
        plan: AdditionPlan,
        added: Mapping[str, float],
        bowl: Mapping[str, float],
        after: Mapping[str, float],
        demands: Sequence[Demand],
    ) -> Iterable[AddedLine]:
        for key in (key for key in self.case.order if key in added):
            one = self.case.formula.ingredients[key]
            otherwise = "in_blend" if key in plan.blended else "beside"
            tops_up = one.main_role == "preservative"
            why, figures = why_added(
                Move(one, bowl[key], after[key]),
                after,
                demands,
                otherwise=self.rules.text[otherwise],
                effect=self.rules.text["tops_up"] if tops_up else "",
            )
            yield AddedLine(
                material=key,
                grams=added[key],
                exact_grams=exact_grams(plan.exact.get(key, 0.0) * self.mass / WHOLE),
                why=why,
                why_figures=figures,
            )

    def _stages(self, plan: AdditionPlan) -> tuple[tuple[GramLine, ...], ...]:
        """Return the parts it is fed in; what is topped up goes into the first, premixed."""
        step, rules = self.wanted.balance_step, self.rules.stages
        fed = {key: count for key, count in plan.counts.items() if key in self.available.levers}
        rest = {key: count for key, count in plan.counts.items() if key not in fed}
        most = max(1, int(portion_at_most(self.mass, rules) / step + 1e-9))
        parts = in_stages(fed, rules.parts, most) if fed else [{}]
        parts[0] = {**parts[0], **rest}
        return tuple(
            tuple(
                GramLine(material=key, grams=of_steps(part[key], step))
                for key in self.case.order
                if key in part
            )
            for part in parts
        )

    def _left(self, plan: AdditionPlan, added: Mapping[str, float]) -> dict[str, float]:
        """Return what one go leaves for later [g], in whole steps."""
        if plan.goes == 1 or not added:
            return {}
        step = self.wanted.balance_step
        more = {
            key: round((amount * self.mass / WHOLE - added.get(key, 0.0)) / step)
            for key, amount in plan.whole.items()
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
        skipped = set(self.rules.advice.not_for_the_bowl)
        items = applicable(book.bench.advice, self.wanted.report, self.case.traits)
        tack = (self.rules.said("tack"),) if self._sticky else ()
        return (*tack, *(item for item in items if item.id not in skipped))

    def _loss(self) -> tuple[TextItem, ...]:
        lost = self.wanted.lost_grams
        return (self.rules.said("loss", grams=f"{lost:g}"),) if lost else ()
