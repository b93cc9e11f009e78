"""Lays out the answers about recipes and bowls: what to do, figures, reasons, what to watch, what is open."""

from collections.abc import Sequence

from advisor.assessment.schema import AssessmentAnswer
from advisor.bowl.add_schema import AddedLine, AdditionAnswer, Shortfall
from advisor.bowl.recover_schema import Recovery, RecoveryAnswer
from advisor.comparison.schema import ComparisonAnswer
from advisor.correction.schema import CorrectionAnswer
from advisor.costing.schema import CostingAnswer, CostParts
from advisor.printing import parts
from advisor.printing.document import Document, Facts, Folded, Rank, Sentences, Table, ranked
from advisor.printing.figure import figure
from advisor.printing.told import Told
from advisor.schema.findings import State
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
    changed = answer.status == "corrected"
    what = "the next recipe" if changed else "the recipe stays as it is"
    hint = f"dough-advisor correct {told.source} --json | dough-advisor weigh - --batch 1000 --balance 0.1"
    return ranked(f"{told.head}: {what}", _correction(answer, told), hint)


def _correction(answer: CorrectionAnswer, told: Told) -> parts.Parts:
    yield Rank.FIGURES, parts.recipe_table(answer.recipe, answer.changes, told)
    yield from parts.reasons(answer.changes, told)
    held = "; ".join(f"{figure(one.percent)} % {told.name(one.material)}" for one in answer.hold_back)
    back = (f"Keep back {held}.",) if held else ()
    yield from parts.lead(answer.advice, *back, first=answer.status == "unchanged")
    yield from parts.outcome(answer.before, answer.after)
    yield from parts.questions(answer.questions)
    yield from parts.checks(answer.checks, told)
    if answer.sensitivities:
        more = Sentences("What more room would change", parts.texts(answer.sensitivities))
        yield Rank.FOLDED, Folded("why", "What more room at a bound would change", (more,))
    yield from parts.closing(answer)


def assessment(answer: AssessmentAnswer, told: Told) -> Document:
    """Return an assessment: what is to be watched in a recipe, and its figures."""
    hint = f"dough-advisor correct {told.source} --feel too_wet"
    return ranked(f"{told.head}: as it stands", _assessment(answer, told), hint)


def _assessment(answer: AssessmentAnswer, told: Told) -> parts.Parts:
    yield from parts.findings(answer.findings, told)
    yield Rank.FIGURES, parts.state_facts(State(totals=answer.totals, consistency=answer.consistency))
    yield from parts.checks(answer.checks, told)
    yield from parts.closing(answer)


def addition(answer: AdditionAnswer, told: Told) -> Document:
    """Return an addition: what goes into the bowl, in which parts, and where that leads."""
    what = "add this to the bowl" if answer.additions else "nothing can be added"
    return ranked(f"{told.head}: {what}", _addition(answer, told), f"dough-advisor correct {told.source}")


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
    yield from _reasons(answer.additions, told)
    yield from parts.lead(answer.advice, first=not answer.additions)
    if answer.second_go:
        yield Rank.REASONS, parts.grams_table("Left for a further go", answer.second_go, told)
    yield Rank.WATCH, Sentences("Still missed", _shortfalls(answer.shortfalls))
    yield from parts.outcome(answer.before, answer.after)
    yield from parts.questions(answer.questions)
    yield from parts.checks(answer.checks, told)
    bowl = parts.grams_table("In the bowl afterwards", answer.bowl_after.lines, told)
    yield Rank.FOLDED, Folded("all", "In the bowl afterwards", (bowl,))
    yield from parts.closing(answer)


def _reasons(additions: Sequence[AddedLine], told: Told) -> parts.Parts:
    yield Rank.REASONS, Sentences("Why", tuple(f"{told.name(one.material)}: {one.why}" for one in additions))


def _shortfalls(missed: Sequence[Shortfall]) -> tuple[str, ...]:
    return tuple(
        f"{one.demand}: {figure(one.value)}, {figure(one.by)} {one.unit} short of {figure(one.bound)}."
        for one in missed
    )


def recovery(answer: RecoveryAnswer, told: Told) -> Document:
    """Return both ways out of an over-weighed batch."""
    return ranked(f"{told.head}: two ways to mend the batch", _recovery(answer, told))


def _recovery(answer: RecoveryAnswer, told: Told) -> parts.Parts:
    yield from parts.lead(answer.advice, first=True)
    if answer.take_out:
        yield Rank.NOW, parts.grams_table("Take out while nothing is mixed", answer.take_out, told)
    for name, way in (("Exactly the recipe", answer.exact), ("With the least added", answer.smallest)):
        title = f"{name}: a batch of {figure(way.batch_grams)} g"
        rows = tuple((told.name(one.material), f"{figure(one.grams)} g") for one in way.additions)
        yield Rank.FIGURES, Table(title, ("Add", "amount"), rows, numeric=frozenset({1}))
        yield from _way(name, way, told)
    yield from parts.closing(answer)


def _way(name: str, way: Recovery, told: Told) -> parts.Parts:
    yield Rank.WATCH, Sentences(f"{name}: still missed", _shortfalls(way.shortfalls))
    why = tuple(f"{told.name(one.material)}: {one.why}" for one in way.additions)
    yield Rank.FOLDED, Folded("why", f"{name}: why", (Sentences(f"{name}: why", why),))
    yield from parts.checks(way.checks, told)


def substitution(answer: SubstitutionAnswer, told: Told) -> Document:
    """Return what may stand in for a missing material, best first."""
    missing = told.name(str(told.body.get("missing", "")))
    what = f"instead of {missing}" if answer.options else f"nothing fits instead of {missing}"
    return ranked(f"{told.head}: {what}", _substitution(answer, told))


def _substitution(answer: SubstitutionAnswer, told: Told) -> parts.Parts:
    for number, one in enumerate(answer.options, start=1):
        title = f"{number}. {_named(one, told)}"
        table = parts.recipe_table(one.recipe, one.changes, told)
        shifts = Sentences(f"{title}: what shifts", tuple(shift.text for shift in one.shifts))
        if number == 1:
            yield Rank.FIGURES, Table(title, table.header, table.rows, numeric=table.numeric)
            yield Rank.REASONS, shifts
            yield from parts.checks(one.checks, told)
        else:
            whole = Table(title, table.header, table.rows, numeric=table.numeric)
            yield Rank.FOLDED, Folded("all", title, (whole, shifts))
    turned = tuple(f"{told.name(one.replacement)}: {one.reason}" for one in answer.rejected)
    yield Rank.WATCH, Sentences("Turned down", turned)
    yield from parts.closing(answer, notes=Rank.FOLDED)


def _named(option: Option, told: Told) -> str:
    named = option.replacement
    return " and ".join(map(told.name, [named] if isinstance(named, str) else named))


def comparison(answer: ComparisonAnswer, told: Told) -> Document:
    """Return two recipes side by side, and what shifts from the first to the second."""
    first, second = (one.get("name") or "another recipe" for one in told.body["recipes"])
    return ranked(f"{first} beside {second}", _comparison(answer, told))


def _comparison(answer: ComparisonAnswer, told: Told) -> parts.Parts:
    rows = tuple(
        (told.name(one.material), figure(one.a), figure(one.b), f"{one.change:+g}" if one.change else "")
        for one in answer.lines
    )
    yield Rank.FIGURES, Table("", ("Material", "a %", "b %", "change"), rows, numeric=frozenset({1, 2, 3}))
    yield Rank.REASONS, Sentences("What shifts", parts.texts(answer.shifts))
    yield Rank.FOLDED, parts.before_and_after("The first and the second", answer.a, answer.b)
    for name, beside in (("a", answer.a), ("b", answer.b)):
        yield from parts.checks(beside.checks, told, of=f" ({name})")
    words = (("moved", answer.label.moved), ("new", answer.label.added), ("gone", answer.label.dropped))
    listed = tuple(f"{name}: {', '.join(found)}." for name, found in words if found)
    yield Rank.FOLDED, Folded("all", "The ingredient list", (Sentences("On the ingredient list", listed),))
    yield from parts.closing(answer)


def costing(answer: CostingAnswer, told: Told) -> Document:
    """Return what a batch and a sold bar cost."""
    return ranked(f"{told.head}: what it costs", _costing(answer, told))


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
        for name in CostParts.model_fields
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
    yield from parts.closing(answer)
