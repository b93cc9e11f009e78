"""The correction: a failed dough becomes the next recipe, with what moved and why."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from advisor.case.advice import applicable
from advisor.case.case import Case
from advisor.case.confidence import chance_in_band, confidence_note, solve_with_confidence
from advisor.case.reasons import Move, why
from advisor.case.refusal import demand_phrase, no_recipe_fits
from advisor.case.shelf import admitted, refuse_unpriced
from advisor.case.solve import Solved, Task, rounded, solve
from advisor.correction.schema import CorrectionAnswer, CorrectionRequest
from advisor.correction.sensitivity import sensitivities
from advisor.demands.dough import dough_bounds
from advisor.demands.target import Target, target
from advisor.demands.use import is_lever
from advisor.demands.wishes import active_demand
from advisor.labelling.consequences import consequence_notes, learning_notes
from advisor.optimise.problem import CERTIFIED
from advisor.recipe.demand import Demand
from advisor.recipe.hold_back import held_back_liquids
from advisor.recipe.measures import Amounts
from advisor.recipe.notebook import Notebook
from advisor.recipe.request import check_wished_keys, known_materials, read_formula, read_request
from advisor.rulebook.ingredient import Ingredient
from advisor.rulebook.load import Rulebook, load_rulebook
from advisor.schema.findings import Change, HoldBack, TextItem
from advisor.schema.report import Report

_ASKED = ("wish", "law", "dough", "use", "advice")


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
    rules = rulebook or load_rulebook()
    wanted = read_request(CorrectionRequest, request, rules)
    known = known_materials(wanted.materials, rules, notebook)
    formula = read_formula(wanted.recipe, known, wanted.shelf)
    if wanted.wishes:
        check_wished_keys(wanted.wishes, formula.ingredients, formula.written.percents)
    case = Case.at(formula, known, wishes=wanted.wishes, report=wanted.report, history=wanted.history)
    usable, kept_out = _usable(case)
    return _Correction(case.with_materials(usable), wanted.report, kept_out).answer()


@dataclass(frozen=True)
class _Correction:
    case: Case
    report: Report
    kept_out: tuple[TextItem, ...] = ()

    def answer(self) -> CorrectionAnswer:
        aim = self._target()
        task = self._task(aim)
        own = self.case.formula.amounts
        demands = (*task.hard, *task.soft)
        content = not any(demand.gap(own) > CERTIFIED for demand in demands) and self._sure_enough(own)
        if aim.route == "keep" and not task.cheapest and content:
            return self._answer_at(aim, task, own, None)
        task, solved = self._solved(task)
        if solved is None:
            raise no_recipe_fits(task, self.case)
        if not _progress(aim, own, solved):
            raise no_recipe_fits(task, self.case, target_is_hard=True)
        found = rounded(task, solved.plan, self.case.formula.written.decimals)
        if found is None:
            raise no_recipe_fits(task, self.case, target_is_hard=True)
        amounts = found.amounts
        if task.cheapest and aim.route == "keep" and not self._cheaper(amounts, own, demands):
            amounts = dict(own)
        return self._answer_at(aim, task, amounts, solved)

    def _solved(self, task: Task) -> tuple[Task, Solved | None]:
        confidence = self.case.wishes.confidence
        if confidence is None:
            return task, solve(task)
        found = solve_with_confidence(task, confidence, self.case.rulebook)
        return found.task, found.solved

    def _sure_enough(self, amounts: Amounts) -> bool:
        confidence = self.case.wishes.confidence
        if confidence is None:
            return True
        case = self.case
        chance = chance_in_band(case.formula.ingredients, amounts, active_demand(case.context), case.rulebook)
        return chance >= confidence

    def _confidence(self, amounts: Amounts) -> tuple[TextItem, ...]:
        case, confidence = self.case, self.case.wishes.confidence
        if confidence is None:
            return ()
        band = active_demand(case.context)
        return (confidence_note(case.formula.ingredients, amounts, band, confidence, case.rulebook),)

    def _target(self) -> Target:
        case, rules = self.case, self.case.rulebook
        return target(
            self.report,
            case.formula.measures,
            case.formula.amounts,
            rules.dough,
            rules.feels,
            rules.bench.traits,
            centre=case.centre,
            own=case.own,
        )

    def _task(self, aim: Target) -> Task:
        case = self.case
        bounds = list(dough_bounds(case.context, drier=aim.direction < 0)) if aim.index else []
        if aim.route == "cohesion":
            bounds = [d for d in bounds if d.group not in ("watery", "oil")]
        return Task(
            ingredients=case.formula.ingredients,
            starts=case.formula.amounts,
            hard=[*case.demands, *bounds],
            soft=aim.demands,
            rules=case.rulebook.program,
            cheapest=case.wishes.aim == "lowest_cost",
            newcomers_at_most=case.wishes.new_materials_at_most,
        )

    def _cheaper(self, amounts: Amounts, own: Amounts, demands: Sequence[Demand]) -> bool:
        if any(demand.gap(own) > CERTIFIED for demand in demands):
            return True
        price = self.case.formula.measures.price
        return (price(amounts) or 0.0) < (price(own) or 0.0) - CERTIFIED

    def _answer_at(self, aim: Target, task: Task, found: Amounts, solved: Solved | None) -> CorrectionAnswer:
        """Return the answer; it is not about what stayed on the shelf."""
        used = {key: one for key, one in task.ingredients.items() if task.starts[key] or found[key]}
        case, report = self.case.with_materials(used), self.report
        own, amounts = case.formula.amounts, {key: found[key] for key in used}
        demands = (*task.hard, *task.soft)
        changes = tuple(
            Change(
                material=key,
                before=own[key],
                after=amounts[key],
                change=round(amounts[key] - own[key], 4),
                why=why(Move(used[key], own[key], amounts[key]), amounts, demands, cheapest=task.cheapest),
            )
            for key in case.order
            if abs(amounts[key] - own[key]) > CERTIFIED
        )
        traits = case.traits()
        book = case.rulebook.bench
        process = applicable(book.process, report, traits)
        advice = [*process, *_then(process, changes), *applicable(book.advice, report, traits)]
        return CorrectionAnswer(
            status="corrected" if changes else "unchanged",
            recipe=case.recipe(amounts),
            changes=changes,
            before=case.state(own),
            after=case.state(amounts),
            checks=case.checks(amounts, demands[len(self.case.demands) :]),
            advice=tuple(advice),
            questions=applicable(book.question, report, traits),
            sensitivities=(
                sensitivities(task, solved, found, case.formula.written.decimals)
                if solved is not None and changes
                else ()
            ),
            hold_back=_hold_back(case, amounts),
            cautions=case.cautions(amounts, [item.id for item in advice]),
            notes=(
                *case.formula.notes,
                *self.kept_out,
                *_nothing_to_move(aim, case),
                *_short(aim, task, amounts, solved),
                *self._confidence(amounts),
                *consequence_notes(case, amounts),
                *learning_notes(case),
            ),
            rules_version=case.rulebook.edition,
        )


def _usable(case: Case) -> tuple[dict[str, Ingredient], tuple[TextItem, ...]]:
    """Return the recipe's materials and what may join them, with a note on each that is turned away."""
    ingredients, own = case.formula.ingredients, case.formula.amounts
    there = {key: one for key, one in ingredients.items() if own[key]}
    joined, notes = admitted(ingredients.keys() - there.keys(), there, case)
    usable = {
        key: one
        for key, one in ingredients.items()
        if key in there or (key in joined and is_lever(one, case.context))
    }
    return _priced(usable, own, notes) if case.wishes.aim == "lowest_cost" else (usable, notes)


def _priced(
    usable: Mapping[str, Ingredient], amounts: Amounts, notes: tuple[TextItem, ...]
) -> tuple[dict[str, Ingredient], tuple[TextItem, ...]]:
    """Return the materials whose price is known.

    Raises
    ------
    InvalidRequest
        A material of the recipe has no price.
    """
    refuse_unpriced({key: one for key, one in usable.items() if amounts.get(key)})
    unpriced = [key for key, one in usable.items() if one.price is None]
    left_out = tuple(
        TextItem(id="no-price", text=f"{usable[key].name} is left out: its price is not known.")
        for key in unpriced
    )
    return {key: one for key, one in usable.items() if key not in unpriced}, (*notes, *left_out)


def _progress(aim: Target, own: Amounts, solved: Solved) -> bool:
    """Tell whether the wetting index moves the way it was reported at all."""
    if not aim.direction:
        return True
    moved = (aim.demands[0].measure.of(solved.plan.amounts) or 0.0) - (aim.demands[0].measure.of(own) or 0.0)
    return moved * aim.direction > CERTIFIED


def _then(process: Sequence[TextItem], changes: Sequence[Change]) -> tuple[TextItem, ...]:
    if not process or not changes:
        return ()
    return (
        TextItem(
            id="if-it-is-still-so",
            text="Change the recipe as shown only if the dough is still so after that.",
        ),
    )


def _hold_back(case: Case, amounts: Amounts) -> tuple[HoldBack, ...]:
    held = held_back_liquids(case.formula.ingredients, amounts, case.rulebook.dough.hold_back)
    return tuple(
        HoldBack(material=key, percent=round(held[key], 2))
        for key in case.order
        if round(held.get(key, 0.0), 2) > 0
    )


def _nothing_to_move(aim: Target, case: Case) -> tuple[TextItem, ...]:
    """Return why a report asks nothing of a recipe: it makes no dough, or lacks what would be moved."""
    if aim.route == "keep":
        return ()
    if aim.index is None:
        lacking = "liquid" if case.formula.measures.powders.of(case.formula.amounts) else "powder"
        text = f"There is no {lacking} in this recipe, so it makes no dough that could be wetter or drier."
        return (TextItem(id="no-dough", text=text),)
    if aim.route == "cracks" and not case.formula.measures.humectants.top:
        text = "Neither recipe nor shelf holds a humectant to take more of: put one on the shelf."
        return (TextItem(id="no-humectant", text=text),)
    return ()


def _short(aim: Target, task: Task, amounts: Amounts, solved: Solved | None) -> tuple[TextItem, ...]:
    """Return a note on each part of the target the limits do not let the recipe reach."""
    missed = [demand for demand in aim.demands if demand.gap(amounts) > CERTIFIED]
    if solved is None or not missed:
        return ()
    named = [name for name in solved.plan.pressing if name in task.demand_of]
    named.sort(key=lambda name: (_ASKED.index(task.demand_of[name][0].kind), name))
    pressing = ", ".join(list(dict.fromkeys(demand_phrase(task, name) for name in named))[:3])
    notes = []
    for demand in missed:
        value = demand.measure.of(amounts) or 0.0
        if solved.plan.certified:
            text = (
                f"No recipe in hundredths of a percent meets the narrow band of {demand.name} together with "
                f"the other limits; {value:.3f} is the nearest."
            )
        else:
            over = demand.maximum is not None and value > demand.maximum
            wanted = demand.maximum if over else demand.minimum
            unit = " %" if demand.unit == "%" else ""
            text = (
                f"{demand.name.capitalize()} reaches {value:.3f}{unit} within the limits, not the wanted "
                f"{wanted:.3f}{unit} ({demand.source}). What presses: {pressing or 'the total'}."
            )
        notes.append(TextItem(id="target-not-reached", text=text))
    return tuple(notes)
