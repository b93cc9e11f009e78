"""Lays out a weigh sheet for paper, in grams or ounces."""

import math
from collections.abc import Iterator
from typing import Literal

from advisor.printing.document import (
    BLANK,
    TWO_SCREENS,
    Blanks,
    Block,
    Checklist,
    Document,
    Facts,
    Folded,
    Sentences,
    Table,
)
from advisor.printing.parts import unmet
from advisor.schema.recipe import GramLine
from advisor.weighing.schema import WeighedLine, WeighingAnswer, WeighStep
from advisor.writing import GRAMS_PER_OUNCE, counted, figure

Units = Literal["g", "oz"]


def weigh_sheet(answer: WeighingAnswer, units: Units = "g") -> Document:
    """Return the weigh sheet of an answer, with boxes to tick and lines to write on.

    Parameters
    ----------
    answer : WeighingAnswer
    units : {"g", "oz"}
        Unit of every weight shown. Sentences that give a premix stay in grams, as does the reckoning.

    Notes
    -----
    Ounces are avoirdupois, 28.349523125 g (international yard and pound agreement, 1959), shown with as many
    decimals as tell two steps of the balance apart. Whole steps of a balance in grams are none in ounces.

    Examples
    --------
    >>> from advisor import weigh
    >>> lines = [{"material": "water", "percent": 25}, {"material": "kaolin", "percent": 75}]
    >>> sheet = weigh_sheet(weigh({"recipe": {"lines": lines}, "batch_grams": 200.0, "balance_step": 1.0}))
    >>> sheet.title
    'Weigh sheet'
    """
    name = f": {answer.name}" if answer.name else ""
    return Document(f"Weigh sheet{name}", tuple(_blocks(answer, _Scale(answer, units))))


class _Scale:
    """Weights as they are shown: in steps of the balance they are weighed on, in one unit."""

    def __init__(self, answer: WeighingAnswer, units: Units) -> None:
        self.units = units
        self._steps = {one.balance: one.step_grams for one in answer.balances}
        self._lines = {line.material: line for line in answer.lines}

    def show(self, grams: float, step: float) -> str:
        if self.units == "g":
            decimals = max(0, -math.floor(math.log10(step) + 1e-9))
            while decimals < 6 and abs(round(step, decimals) - step) > 1e-12:
                decimals += 1
            return f"{grams:.{decimals}f}"
        return f"{grams / GRAMS_PER_OUNCE:.{max(2, math.ceil(-math.log10(step / GRAMS_PER_OUNCE)))}f}"

    def dough(self, grams: float) -> str:
        return self.show(grams, self._steps["coarse"])

    def part(self, part: GramLine) -> str:
        return self.show(part.grams, self._steps[self._lines[part.material].balance])

    def total(self, grams: float) -> str:
        return figure(grams, 6) if self.units == "g" else self.show(grams, 0.1)

    def line(self, line: WeighedLine) -> tuple[str, str]:
        step = self._steps[line.balance]
        return self.show(line.grams, step), self.show(line.tolerance_grams, step / 2)


def _blocks(answer: WeighingAnswer, scale: _Scale) -> Iterator[Block]:
    unit = scale.units
    yield Facts(tuple(_facts(answer, scale)))
    two = len(answer.balances) > 1
    yield Table(
        title="",
        header=("Phase", "Weigh", unit, f"+/- {unit}", *(("Balance",) if two else ()), "Lot"),
        rows=tuple(
            (line.phase, line.name, *scale.line(line), *((line.balance,) if two else ()), line.lot or BLANK)
            for line in answer.lines
        ),
        numeric=frozenset({2, 3}),
        ticks=True,
        remarks=tuple(line.warning or "" for line in answer.lines),
    )
    yield Sentences("Premixes, in grams", tuple(premix.text for premix in answer.premixes))
    names = {line.material: line.name for line in answer.lines}
    held = (*answer.hold_back, *answer.hold_back_powders)
    yield Table(
        title="Keep back and feed to feel",
        header=("Material", unit),
        rows=tuple((names[one.material], scale.part(one)) for one in held),
        numeric=frozenset({1}),
        ticks=True,
    )
    work = Checklist("Work", tuple(_step_line(step) for step in answer.steps))
    yield Folded("all", counted(len(answer.steps), "step"), (work,))
    yield Sentences("Not met", tuple(unmet(check) for check in answer.checks if not check.ok))
    yield Sentences("Notes", tuple(note.text for note in answer.notes), ("note", "notes"), TWO_SCREENS)
    special = tuple(one.text for one in answer.cautions if not one.standing)
    standing = tuple(one.text for one in answer.cautions if one.standing)
    yield Sentences("Take care", special)
    yield Folded("cautions", counted(len(standing), "standing caution"), (Sentences("Caution", standing),))
    by_hand = Blanks("Filled in by hand", ("Date", "Batch", "Made by", "Checked by", "How the dough felt"))
    yield Folded("all", "lines to fill in", (by_hand, Facts((("Rules", answer.rules_version),))))
    if unit == "oz":
        yield Sentences("Units", ("Reckoned and rounded in grams; ounces are for reading.",))


def _facts(answer: WeighingAnswer, scale: _Scale) -> Iterator[tuple[str, str]]:
    yield "Batch", f"{scale.total(answer.total_grams)} {scale.units}"
    for balance in answer.balances:
        called = "Balance" if balance.balance == "coarse" else "Fine balance"
        yield (
            called,
            f"reads to {figure(balance.step_grams, 6)} g, for {figure(balance.smallest_grams)} g and more",
        )
    if answer.fill is not None:
        dough, fill = answer.fill.dough_grams_per_bar, answer.fill
        low, typical, high = (scale.dough(grams) for grams in (dough.low, dough.typical, dough.high))
        yield (
            "Dough for a bar",
            f"{typical} {scale.units} ({low} to {high}), to dry to {figure(fill.dried_bar_grams)} g",
        )
        lost = fill.loss_percent
        yield "Bars", f"{fill.bars}, with {lost.low:g} to {lost.high:g} % left on gloves and bowl"


def _step_line(step: WeighStep) -> str:
    phase = f"{step.phase}: " if step.phase else ""
    minutes = "" if step.minutes is None or step.minutes > 600 else f" (about {step.minutes:g} min)"
    return f"{phase}{step.text}{minutes}"
