"""The correction: a failed dough becomes the next recipe, with what moved and why."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any, get_args

from advisor.case.advice import applicable
from advisor.case.case import Case, Reading
from advisor.case.confidence import chance_in_band, confidence_note
from advisor.case.reasons import Move, Reasons
from advisor.case.refusal import no_recipe_fits
from advisor.case.scale_up import hold_back, not_yet_learned
from advisor.case.solve import Program, Solved, unpriced
from advisor.case.watch import cautions_of
from advisor.correction.notes import (
    beyond_ranges,
    let_go,
    missed_wishes,
    nothing_to_move,
    short_of_target,
    way_out,
)
from advisor.correction.schema import CorrectionAnswer, CorrectionRequest
from advisor.correction.sensitivity import Sensitivities
from advisor.correction.usable import usable_materials
from advisor.correction.walk import Walk
from advisor.demands.aim import Target
from advisor.demands.dough import dough_bounds
from advisor.demands.kept import is_same_bar, same_bar
from advisor.demands.target import target
from advisor.demands.wishes import active_demand
from advisor.frozen import cached_property, dataclass
from advisor.labelling.notes import consequence_notes, law_notes, learning_notes
from advisor.optimise.problem import CERTIFIED
from advisor.recipe.batch import Batch
from advisor.recipe.demand import Demand
from advisor.recipe.hold_back import held_back_liquids
from advisor.recipe.measures import Amounts
from advisor.recipe.notebook import Notebook
from advisor.recipe.request import opened, read_formula
from advisor.rulebook.bench import BenchItem
from advisor.rulebook.load import Rulebook
from advisor.schema.base import Degree
from advisor.schema.findings import Change, HoldBack, Sensitivity, TextItem
from advisor.schema.recipe import Report


def correct(
    request: CorrectionRequest | Mapping[str, Any],
    *,
    rulebook: Rulebook | None = None,
    notebook: Notebook | None = None,
) -> CorrectionAnswer:
    """Return the next recipe after a failed dough: totals 100 %, every demand met, few lines moved.

    Parameters
    ----------
    request : CorrectionRequest or mapping
        The recipe, the report, and what is wished, at hand and known besides.
    rulebook : Rulebook, optional
        Default: the packaged one.
    notebook : Notebook, optional
        What the shop knows besides: its own materials, doughs and measured demands.

    Raises
    ------
    InvalidRequest, InvalidRecipe, UnknownMaterial
        The request is wrong; each place is named.
    NoRecipeFits
        The demands exclude each other; ``conflict`` is irreducible, ``nearest`` comes closest.
    SolverError
        The solver gave no proof.

    Notes
    -----
    How far the wetting index has to move is practice, not physics; the answer's chances say how sure it is.

    Examples
    --------
    >>> lines = [{"material": "betaine-30", "percent": 30}, {"material": "isethionate-powder", "percent": 60},
    ...     {"material": "kaolin", "percent": 10}]
    >>> answer = correct({"recipe": {"lines": lines}, "report": {"feel": "too_wet", "degree": "slight"}})
    >>> answer.status, sum(line.percent for line in answer.recipe.lines)
    ('corrected', 100.0)
    """
    wanted, known = opened(CorrectionRequest, request, rulebook, notebook)
    formula = read_formula(wanted.recipe, known, wanted.shelf, wishes=wanted.wishes)
    case = Case.at(
        formula,
        known,
        wishes=wanted.wishes,
        report=wanted.report,
        history=wanted.history,
        reading=Reading.of(wanted),
        batch=Batch.of(wanted, formula.written.grams),
    )
    usable, kept_out = usable_materials(case)
    return _Correction(case.with_materials(usable), wanted.report, kept_out).answer()


_DEGREES: tuple[Degree, ...] = get_args(Degree)


@dataclass(frozen=True)
class _Found:
    """A recipe that was found for a target, and what it was found by."""

    aim: Target
    program: Program
    amounts: Amounts
    solved: Solved | None = None
    proved: bool = True

    @cached_property
    def moved(self) -> frozenset[str]:
        return frozenset(
            key for key, now in self.amounts.items() if abs(now - self.program.starts[key]) > CERTIFIED
        )


@dataclass(frozen=True)
class _Correction:
    case: Case
    report: Report
    kept_out: tuple[TextItem, ...] = ()

    def answer(self) -> CorrectionAnswer:
        whole = self._found(self._target())
        best, most = whole, self.case.rulebook.program.moves.movers_at_most
        for aim in self._smaller(whole.aim):
            if len(best.moved) <= most:
                break
            found = self._found(aim)
            best = found if 0 < len(found.moved) < len(best.moved) else best
        return self._answer_at(best, smaller=best is not whole)

    def _smaller(self, whole: Target) -> Iterator[Target]:
        """Yield each change that is asked of a dried bar alone, ever milder: few lines move at once."""
        if whole.route in ("in_use", "soft") and self.case.wishes.aim == "closest":
            for degree in reversed(_DEGREES[: _DEGREES.index(self.report.degree) + 1]):
                yield from self._target(degree).singly()

    def _found(self, aim: Target) -> _Found:
        program = self._program(aim)
        own = self.case.formula.amounts
        demands = (*program.hard, *program.soft)
        content = not any(demand.gap(own) > CERTIFIED for demand in demands) and self._sure_enough(own)
        if aim.direction == 0 and not program.cheapest and content:
            return _Found(aim, program, own)
        walk = Walk(self.case, self.report, aim)
        best = walk.best(program)
        program, solved = best.program, best.solved
        found = best.rounded(self.case.formula.written.decimals) if walk.serves(solved) else None
        if found is None:
            raise no_recipe_fits(program, self.case, target_is_hard=solved is not None, way_out=way_out(aim))
        amounts = found.amounts
        if program.cheapest and not aim.direction and not self._cheaper(amounts, own, demands):
            amounts = dict(own)
        return _Found(aim, program, amounts, solved, found.proved)

    def _reached(self, program: Program, aim: Target) -> Amounts | None:
        """Return the rounded answer to a program; None where nothing fits."""
        best = Walk(self.case, self.report, aim).best(program)
        found = best.rounded(self.case.formula.written.decimals)
        return None if found is None else found.amounts

    def _sensitivities(
        self, aim: Target, program: Program, amounts: Amounts, solved: Solved | None
    ) -> tuple[Sensitivity, ...]:
        if solved is None:
            return ()
        decimals = self.case.formula.written.decimals
        eased = Sensitivities(program, solved, amounts, decimals, lambda wider: self._reached(wider, aim))
        return eased.told()

    def _sure_enough(self, amounts: Amounts) -> bool:
        case, confidence = self.case, self.case.wishes.confidence
        if confidence is None:
            return True
        chance = chance_in_band(case.formula.ingredients, amounts, active_demand(case.context), case.rulebook)
        return chance >= confidence

    def _confidence(self, amounts: Amounts) -> tuple[TextItem, ...]:
        case, confidence = self.case, self.case.wishes.confidence
        if confidence is None:
            return ()
        band = active_demand(case.context)
        return (confidence_note(case.formula.ingredients, amounts, band, confidence, case.rulebook),)

    @cached_property
    def _process(self) -> tuple[TextItem, ...]:
        return applicable(self.case.rulebook.bench.process, self.report, self.case.traits)

    @property
    def _steps(self) -> list[BenchItem]:
        """The process steps that are told, as the rules have them."""
        told = {item.id for item in self._process}
        return [step for step in self.case.rulebook.bench.process if step.id in told]

    @cached_property
    def _process_first(self) -> bool:
        """Whether something that was told has to be done before the recipe is changed."""
        return not self.case.learned.past.insisted and any(step.told for step in self._steps)

    def _then(self, questions: Sequence[TextItem], changes: Sequence[Change]) -> tuple[TextItem, ...]:
        """Return what the change rests on, or when there will be one, where something comes before it."""
        then = self.case.rulebook.bench.then
        if self._process_first:
            text = then.report_again
        elif changes and any(not step.warning for step in self._steps):
            text = then.after_process
        elif changes and questions:
            text = then.after_answers
        else:
            return ()
        return (TextItem(id="if-it-is-still-so", text=text),)

    def _target(self, degree: Degree | None = None) -> Target:
        case = self.case
        report = self.report.model_copy(update={"degree": degree or self.report.degree})
        if self._process_first:
            report = Report(feel="workable")
        return target(
            report,
            case.formula.measures,
            case.formula.amounts,
            case.rulebook,
            case.learned.past,
            grams=case.batch.grams,
        )

    def _program(self, aim: Target) -> Program:
        case, context = self.case, self.case.context
        cheapest = case.wishes.aim == "lowest_cost"
        bounds = [*dough_bounds(context, drier=aim.direction < 0), *aim.limits] if aim.index else []
        if aim.route == "cohesion":
            bounds = [d for d in bounds if d.group not in ("watery", "oil")]
        moved = (aim.wanted or 1.0) / (aim.index or 1.0)
        reported = {demand.group for demand in aim.demands}
        kept = [d for d in same_bar(context, moved) if d.group not in reported] if cheapest else []
        return Program(
            ingredients=case.formula.ingredients,
            starts=case.formula.amounts,
            hard=[*case.demands, *bounds, *kept],
            soft=aim.demands,
            rules=case.rulebook.program,
            cheapest=cheapest,
            newcomers_at_most=case.wishes.new_materials_at_most,
            step=case.batch.step_percent,
            wished=frozenset(case.wishes.lines),
            no_more_of=aim.no_more_of - case.wishes.lines.keys(),
        )

    def _let_go(self, program: Program) -> list[Demand]:
        if not program.cheapest:
            return []
        kept = {demand.id for demand in program.hard}
        return [d for d in self._program(self._target()).hard if is_same_bar(d) and d.id not in kept]

    def _cheaper(self, amounts: Amounts, own: Amounts, demands: Sequence[Demand]) -> bool:
        if any(demand.gap(own) > CERTIFIED for demand in demands):
            return True
        price = self.case.formula.measures.price
        return (price(amounts) or 0.0) < (price(own) or 0.0) - CERTIFIED

    def _answer_at(self, found: _Found, *, smaller: bool) -> CorrectionAnswer:
        """Return the answer; it is not about what stayed on the shelf."""
        aim, program, solved = found.aim, found.program, found.solved
        used = {
            key: one for key, one in program.ingredients.items() if program.starts[key] or found.amounts[key]
        }
        case, report = self.case.with_materials(used), self.report
        own, amounts = case.formula.amounts, {key: found.amounts[key] for key in used}
        demands = (*program.hard, *program.soft)
        always = {demand.id for demand in self.case.demands}
        asked = {demand.id: demand for demand in program.hard if demand.group == "use"}
        moves = [Move(used[key], own[key], amounts[key]) for key in case.order if key in found.moved]
        reasons = Reasons(moves, amounts, demands, aim.route, program.rules, unpriced(program), case.batch)
        changes = tuple(reasons.change(move) for move in moves)
        traits = self.case.traits
        book = case.rulebook.bench
        questions = applicable(book.question, report, traits)
        unknown = not_yet_learned(case, report.method, case.batch.grams or 0.0)
        advice = [
            *self._process,
            *self._then(questions, changes if aim.route != "keep" else ()),
            *applicable(book.advice, report, traits),
        ]
        return CorrectionAnswer(
            status="corrected" if changes else "unchanged",
            recipe=case.recipe(amounts),
            changes=changes,
            before=case.state(own),
            after=case.state(amounts),
            checks=case.checks(
                amounts,
                [d for d in demands if d.id not in always and d.group not in ("frame", "level")],
                instead=[asked.get(demand.id, demand) for demand in case.demands],
            ),
            advice=tuple(advice),
            questions=questions,
            sensitivities=self._sensitivities(aim, program, found.amounts, solved) if changes else (),
            hold_back=_hold_back(case, amounts, unknown),
            cautions=cautions_of(case, amounts, advice=[item.id for item in advice]),
            notes=(
                *case.formula.notes,
                *self.kept_out,
                *unknown,
                *nothing_to_move(aim, case),
                *([TextItem(id="few-lines-at-once", text=program.rules.moves.text)] if smaller else ()),
                *short_of_target(aim, program, amounts, solved, proved=found.proved),
                *missed_wishes(program, amounts, proved=found.proved),
                *beyond_ranges(program, amounts),
                *let_go(self._let_go(program)),
                *self._confidence(amounts),
                *consequence_notes(case, amounts),
                *law_notes(case, amounts),
                *learning_notes(case),
            ),
            rules_version=case.rulebook.edition,
        )


def _hold_back(case: Case, amounts: Amounts, unknown: Sequence[TextItem]) -> tuple[HoldBack, ...]:
    held = held_back_liquids(case.formula.ingredients, amounts, hold_back(case, unknown))
    return tuple(
        HoldBack(material=key, percent=round(held[key], 2), grams=case.batch.of_percent(held[key]))
        for key in case.order
        if round(held.get(key, 0.0), 2) > 0
    )
