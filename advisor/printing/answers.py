"""Lays out the answers about recipes and bowls: what to do, figures, reasons, what to watch, what is open."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from advisor.frozen import replace
from advisor.printing import parts
from advisor.printing.document import (
    TWO_SCREENS,
    Block,
    Document,
    Facts,
    Folded,
    Rank,
    Sentences,
    Table,
    ranked,
)
from advisor.printing.told import Told
from advisor.recipe.grams import listed
from advisor.schema.findings import State
from advisor.writing import behind, figure

if TYPE_CHECKING:
    from advisor.assessment.schema import AssessmentAnswer
    from advisor.bowl.schema import AddedLine, AdditionAnswer, RecoveryAnswer, Shortfall
    from advisor.comparison.schema import ComparisonAnswer
    from advisor.correction.schema import CorrectionAnswer
    from advisor.costing.schema import CostingAnswer
    from advisor.drafting.schema import DraftAnswer, DraftOption
    from advisor.substitution.schema import Option, SubstitutionAnswer


def correction(answer: CorrectionAnswer, told: Told) -> Document:
    """Return a correction: the next recipe beside the old one, a reason a line.

    Examples
    --------
    >>> from advisor import correct
    >>> lines = [{"material": "betaine-30", "percent": 34}, {"material": "isethionate-powder", "percent": 66}]
    >>> body = {"recipe": {"name": "Weir bar", "lines": lines}, "report": {"feel": "too_wet"}}
    >>> correction(correct(body), Told(body)).title
    'Weir bar, too wet, clearly: the next recipe'
    """
    what = "the next recipe" if answer.status == "corrected" else "the recipe stays as it is"
    return ranked(f"{told.head}: {what}", _correction(answer, told), told.to_weigh)


def _correction(answer: CorrectionAnswer, told: Told) -> parts.Parts:
    yield Rank.FIGURES, parts.recipe_table(answer.recipe, answer.changes, told)
    yield from parts.reasons(answer.changes, told)
    yield Rank.REASONS, Sentences("", parts.kept_back(answer.hold_back, told))
    yield from parts.outcome(answer.before, answer.after)
    idle = answer.status == "unchanged" and told.body["report"]["feel"] != "workable"
    yield from parts.bench(answer.advice, answer.questions, told, first=idle)
    yield from parts.checks(answer.checks, told)
    if answer.sensitivities:
        more = Sentences("What more room would change", told.texts(answer.sensitivities))
        yield Rank.FOLDED, Folded("why", "what more room would change", (more,))
    moved = {f"preservation-diluted-{one.material}" for one in answer.changes}
    yield from parts.closing(answer, told, open_notes=True, of_law=True, said=moved)


def assessment(answer: AssessmentAnswer, told: Told) -> Document:
    """Return an assessment: what is to be watched in a recipe, and its figures."""
    worst = next((one.id for one in answer.findings if one.severity in ("danger", "law")), "")
    hint = told.next("explain", worst) if worst else told.again("correct", "--feel", "too_wet")
    return ranked(f"{told.head}: as it stands", _assessment(answer, told), hint)


def _assessment(answer: AssessmentAnswer, told: Told) -> parts.Parts:
    yield from parts.findings(answer.findings, told)
    yield from parts.figures(State(totals=answer.totals, consistency=answer.consistency))
    yield from parts.checks(answer.checks, told, said=parts.told_as_findings(answer.checks, answer.findings))
    yield from parts.closing(answer, told, of_law=True, said={one.text for one in answer.findings})


def addition(answer: AdditionAnswer, told: Told) -> Document:
    """Return an addition: what goes into the bowl, in which parts, and where that leads."""
    small = any(one.id == "too-fine" for one in answer.advice)
    idle = "less than the balance shows" if small else "nothing is added now"
    what = "add this to the bowl" if answer.additions else idle
    hint = told.again("correct", "--feel", told.body["report"]["feel"], without="--lost")
    return ranked(f"{told.head}: {what}", _addition(answer, told), hint)


def _addition(answer: AdditionAnswer, told: Told) -> parts.Parts:
    stages = answer.stages if len(answer.stages) > 1 else ()
    header = ("Add", *(f"part {number}" for number in range(1, len(stages) + 1)), "in all")
    given = [{one.material: one.grams for one in stage} for stage in stages]
    rows = tuple(
        (
            told.name(one.material),
            *(f"{figure(stage[one.material])} g" if one.material in stage else "" for stage in given),
            f"{figure(one.grams)} g",
        )
        for one in answer.additions
    )
    yield Rank.FIGURES, Table("", header, rows, numeric=frozenset(range(1, len(header))))
    if answer.additions:
        yield Rank.REASONS, _reasons(answer.additions, told)
        yield Rank.FOLDED, _whys("Reasons", answer.additions, told)
    if answer.second_go:
        yield Rank.REASONS, parts.grams_table("Left for a further go", answer.second_go, told)
    yield Rank.WATCH, Sentences("Still missed", _shortfalls(answer.shortfalls))
    yield from parts.outcome(answer.before, answer.after)
    yield from parts.bench(answer.advice, answer.questions, told, first=not answer.additions)
    yield from parts.checks(answer.checks, told, said={one.demand for one in answer.shortfalls})
    bowl = parts.grams_table("In the bowl afterwards", answer.bowl_after.lines, told)
    yield Rank.FOLDED, Folded("all", "in the bowl afterwards", (bowl,))
    yield from parts.closing(answer, told)


def _reasons(additions: Sequence[AddedLine], told: Told) -> Sentences:
    """Return what additions do, those that do the same in one sentence, without the figures."""
    does: dict[str, list[str]] = {}
    for one in additions:
        effect, _, figures = one.why.partition(": ")
        said = effect if figures.startswith("without ") else one.why.rstrip(".")
        does.setdefault(said, []).append(told.short(one.material))
    return Sentences(
        "Why" if len(does) > 1 else "",
        tuple(f"{effect}: {listed(names)}." for effect, names in does.items()),
    )


def _whys(title: str, additions: Sequence[AddedLine], told: Told) -> Folded:
    whole = tuple(f"{told.short(one.material)}: {one.why}" for one in additions)
    return Folded("why", "figures of the reasons", (Sentences(title, whole),))


def _shortfalls(missed: Sequence[Shortfall]) -> tuple[str, ...]:
    return tuple(
        f"{one.demand}: {figure(one.value)}{behind(one.unit)}, {figure(one.by)}{behind(one.unit)}"
        f" {'short of' if one.value < one.bound else 'over'} {figure(one.bound)}."
        for one in missed
    )


def recovery(answer: RecoveryAnswer, told: Told) -> Document:
    """Return both ways out of an over-weighed batch, side by side."""
    hint = told.next("weigh", told.file)
    return ranked(f"{told.head}: two ways to mend the batch", _recovery(answer, told), hint)


def _recovery(answer: RecoveryAnswer, told: Told) -> parts.Parts:
    yield from parts.bench(answer.advice, (), told, first=True)
    if answer.take_out:
        yield Rank.NOW, parts.grams_table("Take out while nothing is mixed", answer.take_out, told)
    ways = (("exactly the recipe", answer.exact), ("the least added", answer.smallest))
    given = [{one.material: f"{figure(one.grams)} g" for one in way.additions} for _, way in ways]
    keys = dict.fromkeys(key for way in given for key in way)
    rows = tuple((told.name(key), *(way.get(key, "") for way in given)) for key in keys)
    makes = ("The batch then", *(f"{figure(way.batch_grams)} g" for _, way in ways))
    header = ("Add", *(name for name, _ in ways))
    yield Rank.FIGURES, Table("", header, (*rows, makes), numeric=frozenset({1, 2}))
    for name, way in ways:
        yield Rank.WATCH, Sentences(f"Still missed by {name}", _shortfalls(way.shortfalls))
        yield Rank.FOLDED, _whys(f"Why {name}", way.additions, told)
        missed = {one.demand for one in way.shortfalls}
        yield from parts.checks(way.checks, told, of=f" ({name})", said=missed)
    yield from parts.closing(answer, told)


def substitution(answer: SubstitutionAnswer, told: Told) -> Document:
    """Return what may stand in for a missing material, best first."""
    missing = told.name(str(told.body.get("missing", "")))
    what = f"instead of {missing}" if answer.options else f"nothing fits instead of {missing}"
    return ranked(
        f"{told.head}: {what}", _substitution(answer, told), told.to_weigh if answer.options else ""
    )


def _substitution(answer: SubstitutionAnswer, told: Told) -> parts.Parts:
    for number, one in enumerate(answer.options, start=1):
        title = f"{number}. {_named(one, told)}"
        table = replace(parts.recipe_table(one.recipe, one.changes, told), title=title)
        shifts = told.texts(one.shifts)
        if number == 1:
            yield Rank.FIGURES, table
            yield Rank.REASONS, Sentences("What shifts", shifts, ("shift", "shifts"), TWO_SCREENS)
            yield from parts.checks(one.checks, told)
        else:
            yield Rank.FOLDED, Folded("all", title, (table, Sentences(f"{title}: what shifts", shifts)))
    turned = tuple(f"{told.name(one.replacement)}: {one.reason}" for one in answer.rejected)
    yield Rank.WATCH, Sentences("Turned down", turned, counted=("turned down", "turned down"))
    yield from parts.closing(answer, told)


def _named(option: Option, told: Told) -> str:
    named = option.replacement
    return " and ".join(map(told.name, [named] if isinstance(named, str) else named))


def comparison(answer: ComparisonAnswer, told: Told) -> Document:
    """Return two recipes side by side, and what shifts from the first to the second."""
    first, second = (one.get("name") or "another recipe" for one in told.body["recipes"])
    return ranked(f"{first} beside {second}", _comparison(answer, told), told.next(*told.typed, "--all"))


def _comparison(answer: ComparisonAnswer, told: Told) -> parts.Parts:
    rows = tuple(
        (told.name(one.material), figure(one.a), figure(one.b), f"{one.change:+g}" if one.change else "")
        for one in answer.lines
    )
    yield Rank.FIGURES, Table("", ("Material", "a %", "b %", "change"), rows, numeric=frozenset({1, 2, 3}))
    yield Rank.REASONS, Sentences("What shifts", told.texts(answer.shifts))
    yield Rank.FOLDED, parts.before_and_after("the first and the second", answer.a, answer.b)
    for name, beside in (("a", answer.a), ("b", answer.b)):
        yield from parts.checks(beside.checks, told, of=f" ({name})")
    words = (("moved", answer.label.moved), ("new", answer.label.added), ("gone", answer.label.dropped))
    listed = tuple(f"{name}: {', '.join(found)}." for name, found in words if found)
    yield Rank.FOLDED, Folded("all", "the ingredient list", (Sentences("On the ingredient list", listed),))
    yield from parts.closing(answer, told)


def costing(answer: CostingAnswer, told: Told) -> Document:
    """Return what a batch and a sold bar cost."""
    dearest = max(answer.lines, key=lambda line: line.cost or 0.0)
    hint = (
        told.again("cost", "--price", f"{told.name(dearest.material)}={dearest.price_per_kg or 0.0:g}")
        if not told.body.get("prices") and any(note.id == "first-guess" for note in answer.notes)
        else told.again("cost", "--batch", figure(2 * told.body["batch_grams"]), without="--batch")
    )
    return ranked(f"{told.head}: what it costs", _costing(answer, told), hint)


def _costing(answer: CostingAnswer, told: Told) -> parts.Parts:
    currency = f" {answer.currency}" if answer.currency else ""
    facts = [("Bars made", str(answer.bars)), ("Bars sold, on the mean", figure(answer.sold.sold, 1))]
    if answer.per_bar is not None:
        facts.insert(0, ("A sold bar costs", f"{answer.per_bar.total:.2f}{currency}"))
    if answer.price is not None:
        facts.insert(1, ("It is sold for", f"{answer.price:.2f}{currency}"))
    yield Rank.FIGURES, Facts(tuple(facts))
    header = ("Part", "the batch", *(("a sold bar",) if answer.per_bar else ()))
    rows = tuple(
        (name, *(f"{getattr(of, name):.2f}" for of in (answer.per_batch, answer.per_bar) if of is not None))
        for name in type(answer.per_batch).model_fields
        if name == "total" or getattr(answer.per_batch, name)
    )
    yield (
        Rank.FIGURES,
        Table(f"Costs{currency and ' in' + currency}", header, rows, numeric=frozenset({1, 2})),
    )
    lines = tuple(
        (told.name(one.material), f"{figure(one.grams)} g", "?" if one.cost is None else f"{one.cost:.2f}")
        for one in answer.lines
    )
    dough = Table("The dough", ("Material", "amount", "cost"), lines, numeric=frozenset({1, 2}))
    yield Rank.REASONS, dough
    yield Rank.WATCH, Sentences("Without a price", tuple(map(told.name, answer.unpriced)))
    yield from parts.closing(answer, told, open_notes=True)


def draft(answer: DraftAnswer, told: Told) -> Document:
    """Return new bars from a wish: the first whole, the others folded."""
    count = len(answer.options)
    title = "A new bar from your wish" if count == 1 else f"{count} new bars from your wish"
    trial = answer.options[0].trial
    coarse = all(math.isclose(line.grams, round(line.grams, 1)) for line in trial.lines)
    weigh = f"weigh - --batch {trial.batch_grams:g} --balance {0.1 if coarse else 0.01}"
    return ranked(title, _draft(answer, told), told.next(then=weigh))


def _draft(answer: DraftAnswer, told: Told) -> parts.Parts:
    for number, one in enumerate(answer.options, start=1):
        title = f"{number}. {one.recipe.name or one.family}"
        told_of = tuple(_drafted(one, title, told))
        if number == 1:
            yield from ((Rank.FIGURES, block) for block in told_of)
            yield from parts.checks(one.checks, told, said=parts.told_as_findings(one.checks, one.findings))
        else:
            yield Rank.FOLDED, Folded("all", f"{title}: {'; '.join(one.good_at[:1])}".rstrip(": ."), told_of)
    yield Rank.OPEN, Sentences("What keeps others out", told.texts(answer.left_out))
    yield from parts.closing(answer, told)


def _drafted(one: DraftOption, title: str, told: Told) -> Iterator[Block]:
    trial = {line.material: line.grams for line in one.trial.lines}
    batch = {line.material: line.grams for line in one.batch or ()}
    header = (
        "Material",
        "percent",
        f"{figure(one.trial.batch_grams)} g trial",
        *(("the batch",) if batch else ()),
    )
    rows = tuple(
        (
            told.name(line.material),
            f"{figure(line.percent)} %",
            *(f"{figure(of[line.material])} g" for of in (trial, batch) if of),
        )
        for line in one.recipe.lines
    )
    yield Table(title, header, rows, numeric=frozenset(range(1, len(header))))
    yield Sentences("Why it is in", one.asked_for)
    yield Sentences("Good at", one.good_at)
    yield Sentences("Weak at", one.weak_at)
    yield Sentences("What stands out", told.texts(one.findings))
