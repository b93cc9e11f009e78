"""The plan of a day: what to weigh for all batches, in which order to make them, and one melt."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from advisor.case.cautions import cautions, special_first
from advisor.day_planning.order import Batch, best_order, left_behind
from advisor.day_planning.schema import (
    DayMaterial,
    DayMelt,
    DayPhase,
    DayPlanAnswer,
    DayPlanRequest,
    DayStep,
    Portion,
)
from advisor.frozen import cached_property, dataclass
from advisor.recipe.grams import exact_grams, listed
from advisor.recipe.lots import NamedLot, lot_cautions
from advisor.recipe.notebook import Notebook
from advisor.recipe.request import Formula, opened, read_formula
from advisor.rulebook.load import Rulebook
from advisor.schema.findings import Caution
from advisor.schema.recipe import GramLine
from advisor.sums import greatest, grouped, summed
from advisor.weighing.schema import WeighingAnswer
from advisor.weighing.task import weigh

_SAME_SHARE = 0.005


def plan_day(
    request: DayPlanRequest | Mapping[str, Any],
    *,
    rulebook: Rulebook | None = None,
    notebook: Notebook | None = None,
) -> DayPlanAnswer:
    """Return one list of what to weigh for several batches, and the order that dirties least.

    Parameters
    ----------
    request : DayPlanRequest or mapping
        Up to a dozen batches: recipe, mass [g] and balance [g] of each.
    rulebook : Rulebook, optional
        Default: the packaged one.
    notebook : Notebook, optional
        What the shop knows besides: its own materials and lots.

    Raises
    ------
    InvalidRequest, InvalidRecipe, UnknownMaterial

    Notes
    -----
    Each batch is weighed as its own weigh sheet has it, so the list adds up to the sheets. The order is the
    best of all orders for what each batch leaves behind, an estimate of what matters most.

    Examples
    --------
    >>> pale = [{"material": "betaine-30", "percent": 30}, {"material": "kaolin", "percent": 70}]
    >>> rose = [{"material": "betaine-30", "percent": 30}, {"material": "rose-clay", "percent": 70}]
    >>> asked = {"batch_grams": 100.0, "balance_step": 0.1}
    >>> batches = [{"recipe": {"lines": lines}, **asked} for lines in (rose, pale)]
    >>> plan = plan_day({"batches": batches})
    >>> [step.batch for step in plan.order], plan.materials[0].grams
    ([1, 0], 60.0)
    """
    wanted, known = opened(DayPlanRequest, request, rulebook, notebook)
    rules = known.rulebook
    formulas = [
        read_formula(batch.recipe, known, where=f"/batches/{i}/recipe")
        for i, batch in enumerate(wanted.batches)
    ]
    shared = {"materials": wanted.materials} if wanted.materials else {}
    sheets = [
        weigh({**batch.model_dump(exclude_unset=True), **shared}, rulebook=rules, notebook=notebook)
        for batch in wanted.batches
    ]
    return _Day(formulas, sheets, rules).answer()


@dataclass(frozen=True)
class _Day:
    formulas: Sequence[Formula]
    sheets: Sequence[WeighingAnswer]
    rules: Rulebook

    def answer(self) -> DayPlanAnswer:
        return DayPlanAnswer(
            materials=tuple(self._materials()),
            order=tuple(self._steps()),
            phases=tuple(self._phases()),
            melt=self._melt(),
            cautions=special_first((*self._stock(), *self._cautions())),
            notes=tuple(dict.fromkeys(note for sheet in self.sheets for note in sheet.notes)),
            rules_version=self.rules.edition,
        )

    def _cautions(self) -> Iterator[Caution]:
        """Yield the cautions of every sheet, those on materials once with the materials of the whole day."""
        ingredients = {key: one for batch in self.batches for key, one in batch.items()}
        most = greatest(line for formula in self.formulas for line in formula.amounts.items() if line[1])
        told = cautions(self.rules.cautions.caution, ingredients, most, None, estimates=False, handled=most)
        of_the_day = {one.caution.id: one.caution for one in told}
        for sheet in self.sheets:
            yield from (of_the_day.get(one.id, one) for one in sheet.cautions)

    @cached_property
    def batches(self) -> list[Batch]:
        """The materials of each batch."""
        return [
            {key: formula.ingredients[key] for key, amount in formula.amounts.items() if amount}
            for formula in self.formulas
        ]

    @cached_property
    def names(self) -> list[str]:
        """What each batch is called."""
        return [formula.written.name or f"batch {i + 1}" for i, formula in enumerate(self.formulas)]

    @cached_property
    def order(self) -> list[int]:
        """The batches in the order of the day."""
        return best_order(self.batches, self.names, self.rules.day.carried)

    @cached_property
    def portions(self) -> dict[str, list[Portion]]:
        """What goes of each material into each batch, in the order of the day."""
        return grouped(
            (line.material, Portion(batch=batch, grams=line.grams))
            for batch in self.order
            for line in self.sheets[batch].lines
        )

    def _materials(self) -> Iterator[DayMaterial]:
        """Yield what is weighed, phase by phase as the work goes."""
        lines = [line for sheet in self.sheets for line in sheet.lines]
        phase = {key: min(line.phase for line in lines if line.material == key) for key in self.portions}
        names = {line.material: line.name for line in lines}
        for key in sorted(self.portions, key=lambda key: (phase[key], -_sum(self.portions[key]), key)):
            portions = tuple(self.portions[key])
            yield DayMaterial(material=key, name=names[key], grams=_sum(portions), portions=portions)

    def _steps(self) -> Iterator[DayStep]:
        told = self.rules.day.text
        for place, batch in enumerate(self.order):
            before = self.order[place - 1]
            left = left_behind(self.batches[before], self.batches[batch]) if place else []
            sentence = "carried" if left else "clean" if place else "first"
            names = listed(one.name for one in left) if left else ""
            yield DayStep(
                batch=batch,
                name=self.names[batch],
                grams=self.sheets[batch].total_grams,
                carried=tuple(one.key for one in left),
                text=told[sentence].format(names=names, before=self.names[before]),
            )

    def _phases(self) -> Iterator[DayPhase]:
        for batch in self.order:
            lines = self.sheets[batch].lines
            for phase in sorted({line.phase for line in lines}):
                within = (line for line in lines if line.phase == phase)
                weighed = tuple(GramLine(material=line.material, grams=line.grams) for line in within)
                yield DayPhase(batch=batch, phase=phase, lines=weighed)

    @cached_property
    def melted(self) -> dict[int, dict[str, float]]:
        """The fats that are melted for each batch that has any [g]."""
        found = {}
        for batch in self.order:
            grams = {line.material: line.grams for line in self.sheets[batch].lines}
            steps = (step for step in self.sheets[batch].steps if step.id == "melt")
            fats = {key: grams[key] for step in steps for key in step.materials if grams[key]}
            if fats:
                found[batch] = fats
        return found

    def _melt(self) -> DayMelt | None:
        """Return every fat that is melted that day, None where nothing is."""
        melts = list(self.melted.values())
        if not melts:
            return None
        steps = (step for batch in self.melted for step in self.sheets[batch].steps if step.id == "melt")
        hottest = max(step.temperature_c or 0.0 for step in steps)
        portions = [Portion(batch=i, grams=exact_grams(sum(of.values()))) for i, of in self.melted.items()]
        every = sorted({key for of in melts for key in of})
        whole = {key: exact_grams(sum(of.get(key, 0.0) for of in melts)) for key in every}
        together = _same_proportions(melts)
        text = self.rules.day.text["single" if len(melts) == 1 else "together" if together else "one_bath"]
        return DayMelt(
            temperature_c=hottest,
            together=together,
            lines=tuple(GramLine(material=key, grams=grams) for key, grams in whole.items()),
            portions=tuple(portions),
            text=text.format(grams=f"{_sum(portions):g}", temperature=f"{hottest:g}"),
        )

    def _stock(self) -> tuple[Caution, ...]:
        """Return which lots do not suffice for all batches, or where none is named all of a material."""
        wanted: dict[tuple[str, str], float] = {}
        lots: dict[tuple[str, str], NamedLot] = {}
        for batch, formula in enumerate(self.formulas):
            grams = {line.material: line.grams for line in self.sheets[batch].lines}
            for key, named in formula.lots.items():
                lots[key, named.lot] = named
                wanted[key, named.lot] = wanted.get((key, named.lot), 0.0) + grams.get(key, 0.0)
        short = [
            caution
            for place, named in lots.items()
            for caution in lot_cautions({place[0]: named}, None, {place[0]: wanted[place]})
        ]
        unnamed = summed(
            (line.material, line.grams)
            for sheet, formula in zip(self.sheets, self.formulas, strict=True)
            for line in sheet.lines
            if line.material not in formula.lots
        )
        short += [caution for formula in self.formulas for caution in formula.short_of(unnamed)]
        return tuple(dict.fromkeys(short))


def _sum(portions: Sequence[Portion]) -> float:
    return exact_grams(sum(portion.grams for portion in portions))


def _same_proportions(melts: Sequence[Mapping[str, float]]) -> bool:
    """Tell whether one pot serves all: the same fats, in shares that differ by no more than the balance."""
    shares = [{key: grams / sum(of.values()) for key, grams in of.items()} for of in melts]
    first = shares[0]
    return all(
        of.keys() == first.keys() and all(abs(of[key] - first[key]) <= _SAME_SHARE for key in of)
        for of in shares
    )
