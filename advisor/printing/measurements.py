"""Lays out the answers about what was measured: doses, drying, strength, uptake, doughs."""

from collections.abc import Iterator

from advisor.experiment.schema import TrialAnswer, WindowAnswer
from advisor.laboratory.schema import DoseAnswer, StrengthAnswer, TitrationAnswer
from advisor.printing import parts
from advisor.printing.document import Document, Facts, Folded, Rank, Sentences, Table, ranked
from advisor.printing.told import Told
from advisor.schema.drying import DryingAnswer
from advisor.schema.material import Estimate, TakenUp, UptakeTestAnswer
from advisor.writing import counted, figure


def dose(answer: DoseAnswer, told: Told) -> Document:
    """Return the dose still to add: what to pour first, with its unit and material, before the rest."""
    state = {"add": "add this", "passed": "the target is passed", "away": "the dose leads away"}[answer.state]
    return ranked(f"pH dose: {state}", _dose(answer, told), told.next(*told.typed, "--all"))


def _dose(answer: DoseAnswer, told: Told) -> parts.Parts:
    unit = {"millilitres": "ml", "drops": "drops"}.get(str(told.body.get("unit")), "g")
    pour = answer.pour_first
    rows = []
    if pour is not None:
        of = "" if pour.material is None else f" of {told.name(pour.material)}"
        rows.append((f"Pour first, into the {pour.into}", f"{figure(pour.amount)} {unit}{of}"))
        if answer.batch_dose is not None:
            rows.append(("For the batch, in all", f"{figure(answer.batch_dose)} {unit}"))
        rows += [
            ("First, for the dough of the trial", f"{figure(answer.first_dose)} {unit}"),
            ("For the dough of the trial, in all", f"{figure(answer.next_dose)} {unit}"),
        ]
    rows += [
        ("That leads to about" if pour else "It stands at", f"pH {figure(answer.reaches_ph, 2)}"),
        ("Read in a dispersion of", f"{figure(answer.test_percent)} %"),
    ]
    yield Rank.FIGURES, Facts(tuple(rows))
    yield from parts.closing(answer, told)


def drying(answer: DryingAnswer, told: Told) -> Document:
    """Return when a bar is dry, in dates and days."""
    return ranked(f"{told.head}: when it is dry", _drying(answer, told), told.next(*told.typed, "--all"))


def _drying(answer: DryingAnswer, told: Told) -> parts.Parts:
    rows = []
    if (dates := answer.dates) is not None:
        sell = dates.sell
        rows += [
            ("Weigh next", f"{dates.weigh_next}"),
            ("Handle", f"{dates.handle}"),
            ("Wrap", f"{dates.wrap}"),
            ("Weigh for sale", f"{sell.typical} ({sell.earliest} to {sell.latest})"),
        ]
    rows.append(("Dry after", _days(answer.hours_to_dry)))
    if answer.final_grams is not None:
        rows.append(("It then weighs", f"{figure(answer.final_grams, 1)} g"))
    if answer.dried is not None:
        rows.append(("Left of the fresh bar", f"{figure(answer.dried.mass_left, 1)} %"))
        if answer.dried.totals is not None:
            rows.append(("Active matter when fresh", f"{figure(answer.dried.totals.active)} %"))
            rows.append(("Active matter when dry", f"{figure(answer.dried.totals.as_dried.active)} %"))
    yield Rank.FIGURES, Facts(tuple(rows))
    points = tuple((_day(one.hours), f"{figure(one.grams, 2)} g") for one in answer.curve)
    curve = Table("The curve", ("After", "weight"), points, numeric=frozenset({1}))
    yield Rank.FOLDED, Folded("all", "the curve", (curve,))
    yield from parts.closing(answer, told)


def _day(hours: float) -> str:
    return f"{hours / 24:.0f} days" if hours >= 240 else f"{hours / 24:.1f} days"


def _days(hours: Estimate) -> str:
    return f"{_day(hours.typical)} ({_day(hours.low).removesuffix(' days')} to {_day(hours.high)})"


def strength(answer: StrengthAnswer, told: Told) -> Document:
    """Return the active matter, and how sure it is."""
    hint = told.next("label", told.file, "--market", "eu")
    return ranked(f"{told.head}: how strong, and how sure", _strength(answer, told), hint)


def _strength(answer: StrengthAnswer, told: Told) -> parts.Parts:
    sure = answer.interval80
    yield (
        Rank.FIGURES,
        Facts(
            (
                ("Active matter", f"{figure(answer.mean, 2)} %"),
                ("In eight of ten batches", f"{figure(sure.low, 2)} to {figure(sure.high, 2)} %"),
                ("Band", _band(answer)),
                ("Chance to lie in it", f"{100 * answer.chance_in_band:.0f} %"),
            )
        ),
    )
    rows = tuple(
        (told.name(one.material), f"{figure(one.mean, 2)} %", f"{100 * one.share_of_variance:.0f} %")
        for one in answer.contributions
    )
    header = ("Material", "active", "of what is unsure")
    yield Rank.REASONS, Table("Where it comes from", header, rows, numeric=frozenset({1, 2}))
    yield from parts.closing(answer, told)


def _band(answer: StrengthAnswer) -> str:
    low, high = answer.band.min, answer.band.max
    ends = ("" if low is None else f"from {figure(low)} %", "" if high is None else f"to {figure(high)} %")
    return " ".join(end for end in ends if end)


def titration(answer: TitrationAnswer, told: Told) -> Document:
    """Return the active matter of a lot."""
    rows = (
        ("Active matter", f"{figure(answer.active, 2)} %"),
        ("Molar mass", f"{figure(answer.molar_mass, 2)} g/mol"),
        ("Source", answer.source),
    )
    hint = told.next("explain", str(told.body["material"])) if told.body.get("material") else ""
    return ranked(
        "Active matter of the lot", [(Rank.FIGURES, Facts(rows)), *parts.closing(answer, told)], hint
    )


def uptake(answer: UptakeTestAnswer, told: Told) -> Document:
    """Return what a powder takes up, or how to find out."""
    hint = told.next("explain", answer.material)
    return ranked(f"{told.name(answer.material)}: what it takes up", _uptake(answer, told), hint)


def _uptake(answer: UptakeTestAnswer, told: Told) -> parts.Parts:
    kinds = (
        ("By your test", answer.measured),
        ("By the library", answer.prior),
        ("From now on", answer.combined),
    )
    yield Rank.FIGURES, Facts(tuple((name, _demand(one)) for name, one in kinds if one is not None))
    steps = told.texts(answer.steps)
    if answer.measured is None:
        yield Rank.NOW, Sentences("How to test it", steps)
        yield Rank.NOW, Sentences("Write down", tuple(one.text for one in answer.form))
    else:
        yield Rank.FOLDED, Folded("all", "the steps of the test", (Sentences("Steps", steps),))
    yield from parts.closing(answer, told)


def _demand(one: TakenUp) -> str:
    return f"{figure(one.typical)} g of liquid a gram ({figure(one.low)} to {figure(one.high)})"


def trial(answer: TrialAnswer, told: Told) -> Document:
    """Return the small test dough that would teach most."""
    return ranked("The next test dough", _trial(answer, told), told.next("window"))


def _trial(answer: TrialAnswer, told: Told) -> parts.Parts:
    yield Rank.NOW, Sentences("", (answer.text,))
    rows = tuple((line.name, f"{figure(line.grams)} g") for line in answer.weighing.lines)
    yield Rank.FIGURES, Table("Weigh", ("Material", "amount"), rows, numeric=frozenset({1}))
    learn = tuple(
        f"{one.name}: unsure by {100 * one.sd_before:.1f} % now, by {100 * one.sd_after:.1f} % afterwards."
        for one in answer.recipes
    )
    yield Rank.REASONS, Sentences("What it would teach", (*learn, *_wanted(answer, told)))
    yield from parts.closing(answer, told)


def _wanted(answer: TrialAnswer, told: Told) -> Iterator[str]:
    for one in answer.powders:
        before, then, usual = (100 * sd for sd in (one.sd_before, one.sd_after, one.sd_after_usual))
        known = f"unsure by {before:.1f} % now, by {then:.1f} % afterwards"
        yield f"What {told.name(one.material)} takes up: {known}; by your own powders {usual:.1f} %."


def window(answer: WindowAnswer, told: Told) -> Document:
    """Return what the shop's own doughs have taught."""
    return ranked("What your doughs have taught", _window(answer, told))


def _window(answer: WindowAnswer, told: Told) -> parts.Parts:
    rows = tuple(
        (one.method, figure(one.low, 3), figure(one.centre, 3), figure(one.high, 3), str(one.doughs))
        for one in answer.by_method
    )
    header = ("Workable, worked by", "from", "centre", "to", "doughs")
    yield Rank.FIGURES, Table("How wet it is for its powders", header, rows, numeric=frozenset({1, 2, 3, 4}))
    powders = tuple(
        (told.name(one.material), _demand(one.learned), str(one.doughs)) for one in answer.powders
    )
    learned = Table("Powders", ("Material", "takes up", "doughs"), powders, numeric=frozenset({2}))
    yield Rank.FOLDED, Folded("all", counted(len(powders), "powder"), (learned,))
    yield Rank.WATCH, Sentences("Fits ill to the others", tuple(one.text for one in answer.outliers))
    if answer.measure_next is not None:
        yield Rank.OPEN, Sentences("Measure next", (answer.measure_next.text,))
    yield from parts.closing(answer, told)
