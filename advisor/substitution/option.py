"""Where one replacement becomes an option: solved, rounded, proved, explained."""

from collections.abc import Iterable, Sequence

from advisor.case.case import Case
from advisor.case.cautions import warned_of
from advisor.case.confidence import attempt, confidence_note
from advisor.case.reasons import Move, Reasons
from advisor.case.solve import Attempt, Program, Solved, unpriced
from advisor.demands.wishes import active_demand
from advisor.frozen import cached_property, dataclass, fields, replace
from advisor.optimise.problem import CERTIFIED
from advisor.recipe.demand import Demand
from advisor.recipe.measures import Amounts
from advisor.rulebook.ingredient import Ingredient, names_of
from advisor.schema.findings import Change, Shift, TextItem
from advisor.schema.recipe import PercentLine, PercentRecipe
from advisor.substitution.ranking import ranking
from advisor.substitution.replacement import Gap, balance_demand, same_surfactant, swap_demands
from advisor.substitution.schema import Kept, Option
from advisor.substitution.screen import Trial, swap_prices
from advisor.substitution.swapped import Swapped, shifts


@dataclass(frozen=True)
class SubstitutionCase(Case):
    """A case of a recipe held to the demands of a swap."""

    swap: tuple[Demand, ...] = ()

    @cached_property
    def demands(self) -> list[Demand]:
        """Every demand on the recipe with a replacement in it."""
        return list(self.swap)


def swap_program(case: Case, gap: Gap, demands: Sequence[Demand], cheap: Sequence[str] = ()) -> Program:
    """Return what is asked of the program; ``cheap`` are the replacements it may move at little cost."""
    program = Program(
        ingredients=case.formula.ingredients,
        starts=case.formula.amounts,
        hard=[*demands, gap.absent()],
        soft=(),
        rules=case.rulebook.program,
        cheapest=case.wishes.aim == "lowest_cost",
        newcomers_at_most=case.wishes.new_materials_at_most,
        step=case.batch.step_percent,
        wished=frozenset(case.wishes.lines),
    )
    return replace(program, prices=swap_prices(program, gap, cheap))


def new_warnings(case: Case, missing: Ingredient, replaced: Iterable[Ingredient]) -> int:
    """Return how much the users of a bar have to be told that they had not to be told before."""
    rules = case.rulebook.cautions.caution
    new = {warning for one in replaced for warning in warned_of(rules, one)}
    return len(new - warned_of(rules, missing))


@dataclass(frozen=True)
class Swap:
    """One replacement, or two, in the place of what is missing.

    Parameters
    ----------
    case : Case
        The recipe with the shelf and the replacements.
    gap : Gap
    trial : Trial
        What the screen found.
    """

    case: Case
    gap: Gap
    trial: Trial

    @cached_property
    def replaced(self) -> tuple[Ingredient, ...]:
        """What stands in."""
        return tuple(self.case.formula.ingredients[key] for key in self.trial.chosen)

    @cached_property
    def _demands(self) -> tuple[Demand, ...]:
        context = self.case.context
        kept = balance_demand(context, self.gap.rules) if self.trial.balanced else None
        return (
            *swap_demands(context, self.gap, frozenset(self.trial.chosen)),
            self.gap.demand(self.replaced, context.amounts),
            *((kept,) if kept is not None else ()),
        )

    @cached_property
    def held_to(self) -> SubstitutionCase:
        """The case that holds the recipe to the demands of this swap."""
        case = self.case
        known = {field.name: getattr(case, field.name) for field in fields(case)}
        return SubstitutionCase(**known, swap=self._demands)

    @cached_property
    def program(self) -> Program:
        """What is asked of the program."""
        return swap_program(self.case, self.gap, self._demands, self.trial.chosen)

    @cached_property
    def _attempt(self) -> Attempt:
        """The plan of least change; in a wished band of active matter with the confidence that was wished."""
        wishes = self.case.wishes
        confidence = None if wishes.active is None else wishes.confidence
        return attempt(self.program, confidence, self.case.rulebook)

    @property
    def solved(self) -> Solved | None:
        """The plan; None where the wish allows fewer new materials than it takes."""
        return self._attempt.solved

    @cached_property
    def amounts(self) -> Amounts | None:
        """Proved percents; None where no whole steps meet every demand."""
        found = self._attempt.rounded(self.case.formula.written.decimals)
        return None if found is None else found.amounts

    def option(self, amounts: Amounts) -> Option:
        """Return the recipe with its reasons, shifts, checks and rank."""
        case, own = self.held_to, self.case.formula.amounts
        measures, weights = case.formula.measures, self.program.prices or {}
        told = shifts(self._swapped(amounts))
        kept = self._kept()
        keys = self.trial.chosen
        return Option(
            replacement=keys[0] if len(keys) == 1 else (keys[0], keys[1]),
            recipe=case.recipe(amounts),
            changes=self._changes(amounts),
            shifts=(*self._strength(kept), *told),
            before=case.state(own),
            after=case.state(amounts),
            checks=case.checks(amounts),
            ranking=ranking(
                self.gap.one,
                self.replaced,
                disturbance=sum(weights[key] * abs(amounts[key] - own[key]) for key in amounts),
                new_materials=sum(1 for key in amounts if amounts[key] and not own[key]),
                prices=(measures.price(own), measures.price(amounts)),
                rules=self.gap.rules,
                warnings=new_warnings(self.case, self.gap.one, self.replaced),
            ),
            kept=kept,
        )

    def confidence(self) -> TextItem | None:
        """Return what confidence in the band of active matter the recipe reaches, where one was wished."""
        case, wished = self.case, self.case.wishes.confidence
        if wished is None or self.amounts is None:
            return None
        band = active_demand(case.context)
        note = confidence_note(case.formula.ingredients, self.amounts, band, wished, case.rulebook)
        return TextItem(id=note.id, text=f"{names_of(self.replaced)}: {note.text}")

    def _swapped(self, amounts: Amounts) -> Swapped:
        case = self.case
        return Swapped(
            case.formula.measures,
            case.formula.amounts,
            amounts,
            case.wishes.market,
            self.gap.rules,
            case.rulebook.label,
            tuple(self.replaced),
            self.gap,
        )

    def _changes(self, amounts: Amounts) -> tuple[Change, ...]:
        own, of = self.case.formula.amounts, self.case.formula.ingredients
        moves = [
            Move(of[key], own[key], amounts[key])
            for key in self.held_to.order
            if abs(amounts[key] - own[key]) > CERTIFIED
        ]
        rules = self.program.rules
        swapped = {key: amounts[key] for key in (self.gap.one.key, *self.trial.chosen)}
        reasons = Reasons(
            moves, amounts, self.program.hard, "keep", rules, unpriced(self.program), self.case.batch, swapped
        )
        return tuple(reasons.change(move, self._work_of(move)) for move in moves)

    def _work_of(self, move: Move) -> str:
        """Return what a replacement brings, or that a line is what is missing; nothing of the other lines."""
        gap = self.gap
        if move.one.key == gap.one.key:
            return gap.text("left", percent=f"{gap.left:.4g}") if gap.left else gap.rules.text["missing"]
        if move.one.key not in self.trial.chosen:
            return ""
        return gap.rules.text["raised" if move.before else "replacement"].format(
            brings=gap.brings,
            missing=gap.one.name,
            amount=f"{gap.share(move.one) * (move.after - move.before):.2f}",
            wanted=f"{gap.work:.2f}",
            unit="doses" if gap.measured_by_dose else "points",
        )

    def _kept(self) -> Kept | None:
        """Return the old percents with another lot of the same surfactant."""
        if self.gap.left or len(self.replaced) != 1 or not same_surfactant(self.gap.one, self.replaced[0]):
            return None
        lot, old = self.replaced[0].key, self.gap.one.key
        own = self.case.formula.amounts
        percents: dict[str, float] = {}
        for key in self.case.formula.written.percents:
            name = lot if key == old else key
            percents[name] = round(percents.get(name, 0.0) + own[key], 4)
        lines = tuple(
            PercentLine(material=key, percent=percent, lot=self.case.formula.lot(key))
            for key, percent in percents.items()
        )
        totals = self.case.formula.measures.totals(percents)
        return Kept(recipe=PercentRecipe(name=self.case.formula.written.name, lines=lines), totals=totals)

    def _strength(self, kept: Kept | None) -> tuple[Shift, ...]:
        before = self.case.formula.measures.active.of(self.case.formula.amounts) or 0.0
        if kept is None or abs(kept.totals.active - before) < self.gap.rules.telling.strength_points:
            return ()
        text = self.gap.rules.text["strength"].format(
            name=self.replaced[0].material.name, active=f"{kept.totals.active:.2f}", before=f"{before:.2f}"
        )
        return (Shift(what="strength", direction="up" if kept.totals.active > before else "down", text=text),)
