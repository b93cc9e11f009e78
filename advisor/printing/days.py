"""Lays out what goes on from a batch: its trimmings as a material, and a day of several batches."""

from advisor.day_planning.schema import DayPlanAnswer
from advisor.printing import parts
from advisor.printing.document import Checklist, Document, Facts, Folded, Rank, Sentences, Table, ranked
from advisor.printing.told import Told
from advisor.reworking.schema import ReworkAnswer
from advisor.writing import figure


def rework(answer: ReworkAnswer, told: Told) -> Document:
    """Return trimmings or bars as the material they are."""
    return ranked(
        f"{answer.material.name}: a material for a later batch",
        _rework(answer, told),
        told.next(then="keep -"),
    )


def _rework(answer: ReworkAnswer, told: Told) -> parts.Parts:
    facts = [("Key", answer.material.key), ("Use it until", str(answer.expires or "not known"))]
    yield Rank.FIGURES, Facts(tuple(facts))
    held = tuple((name, f"{figure(share)} %") for name, share in answer.material.composition.items())
    whole = Table("It consists of", ("Component", "share"), held, numeric=frozenset({1}))
    yield Rank.FOLDED, Folded("all", "What it consists of", (whole,))
    lots = Sentences("Made of the lots", tuple(f"{key}: {lot}" for key, lot in answer.lots.items()))
    yield Rank.WATCH, lots
    yield from parts.closing(answer, told)


def day_plan(answer: DayPlanAnswer, told: Told) -> Document:
    """Return what to weigh for all batches of a day, and the order that dirties least."""
    return ranked(
        f"A day of {len(answer.order)} batch{'' if len(answer.order) == 1 else 'es'}",
        _day_plan(answer, told),
        told.next(*told.typed, "--all"),
    )


def _day_plan(answer: DayPlanAnswer, told: Told) -> parts.Parts:
    names = {step.batch: step.name or f"Batch {step.batch + 1}" for step in answer.order}
    order = (f"{names[step.batch]}, {figure(step.grams)} g. {step.text}" for step in answer.order)
    yield Rank.NOW, Checklist("In this order", tuple(order))
    if answer.melt is not None:
        yield Rank.NOW, Sentences("Melt", (answer.melt.text,))
    rows = []
    for one in answer.materials:
        amounts = {portion.batch: figure(portion.grams) for portion in one.portions}
        shares = (amounts.get(batch, "") for batch in names)
        rows.append((told.name(one.material), *shares, figure(one.grams)))
    header = ("Weigh, in g", *names.values(), "in all")
    yield Rank.FIGURES, Table("", header, tuple(rows), numeric=frozenset(range(1, len(header))))
    yield from parts.closing(answer, told)
