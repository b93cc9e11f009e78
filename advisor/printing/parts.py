"""The parts that answers share: recipes, reasons, checks, what to watch, what is still open."""

from collections.abc import Iterator, Sequence

from advisor.printing.document import Block, Facts, Folded, Rank, Sentences, Table
from advisor.printing.figure import figure
from advisor.printing.told import Told
from advisor.schema.findings import Answer, Change, Check, Finding, Sensitivity, State, TextItem
from advisor.schema.recipe import GramLine, PercentRecipe
from advisor.schema.shift import Shift

Parts = Iterator[tuple[Rank, Block]]
_ADVICE_OF_USE = ("use", "advice")
_FIGURES = (
    ("Active matter", "totals", "active", " %"),
    ("Water", "totals", "water", " %"),
    ("Liquids", "totals", "liquids", " %"),
    ("Powders", "totals", "powders", " %"),
    ("Oils", "totals", "oils", " %"),
    ("Price", "totals", "price_per_kg", " per kg"),
    ("Liquid to powder", "consistency", "liquid_to_powder", ""),
    ("How wet it is for its powders", "consistency", "wetness", ""),
    ("The same at 20 °C", "consistency", "wetness_at_20c", ""),
    ("Water-based part of the liquids", "consistency", "watery_share", ""),
    ("Oil per powder", "consistency", "oil_per_powder", ""),
    ("Chance that it is workable", "consistency", "chance_workable", ""),
    ("Chance that it is close", "consistency", "chance_close", ""),
)


def recipe_table(recipe: PercentRecipe, changes: Sequence[Change], told: Told) -> Table:
    """Return old and new percents in the order of the recipe, what left it last, with the total."""
    moved = {one.material: one for one in changes}
    kept = {line.material: line.percent for line in recipe.lines}
    rows = []
    for key in (*kept, *(key for key in moved if key not in kept)):
        one = moved.get(key)
        before, after = (kept[key], kept[key]) if one is None else (one.before, one.after)
        rows.append((told.name(key), figure(before), figure(after), f"{one.change:+g}" if one else ""))
    rows.append(("Total", "100", "100", ""))
    header = ("Material", "old %", "new %", "change")
    return Table("", header, tuple(rows), numeric=frozenset({1, 2, 3}))


def reasons(changes: Sequence[Change], told: Told) -> Parts:
    """Yield one true reason a line, and, folded, the figures behind each."""
    yield Rank.REASONS, Sentences("Why", tuple(one.why for one in changes))
    whole = tuple(
        f"{told.name(one.material)} {one.change:+g}: {one.why_figures}" for one in changes if one.why_figures
    )
    if whole:
        yield Rank.FOLDED, Folded("why", "The figures behind each reason", (Sentences("Reasons", whole),))


def grams_table(title: str, lines: Sequence[GramLine], told: Told) -> Table:
    """Return materials with their grams."""
    rows = tuple((told.name(one.material), f"{figure(one.grams)} g") for one in lines)
    return Table(title, ("Material", "amount"), rows, numeric=frozenset({1}))


def lead(items: Sequence[TextItem], *more: str, first: bool) -> Parts:
    """Yield what to do at the bench, before the figures where that is all there is to do."""
    title = "Do this first" if first else "At the bench"
    yield Rank.NOW if first else Rank.REASONS, Sentences(title, (*texts(items), *more))


def outcome(before: State, after: State) -> Parts:
    """Yield where the strength and the dough get to, and, folded, every figure before and after."""
    strength = f"Strength: {figure(before.totals.active)} % before, {figure(after.totals.active)} % after."
    chances = (before.consistency.chance_workable, after.consistency.chance_workable)
    if None not in chances:
        old, new = (f"{100 * chance:.0f}" for chance in chances if chance is not None)
        strength += f" Chance that it is workable: {old} % before, {new} % after."
    yield Rank.WATCH, Sentences("Watch", (strength,))
    yield Rank.FOLDED, before_and_after("Before and after", before, after)


def before_and_after(title: str, before: State, after: State) -> Folded:
    """Return every figure of two recipes, or of one before and after."""
    rows = tuple(_both(before, after))
    header = ("", "before", "after")
    return Folded("all", title, (Table(title, header, rows, numeric=frozenset({1, 2})),))


def _both(before: State, after: State) -> Iterator[tuple[str, str, str]]:
    for name, part, field, unit in _FIGURES:
        old, new = (getattr(getattr(one, part), field) for one in (before, after))
        if old or new:
            yield name, _with(old, unit), _with(new, unit)


def _with(value: float | None, unit: str) -> str:
    return "" if value is None else f"{figure(value)}{unit}"


def state_facts(state: State) -> Facts:
    """Return the figures of one recipe."""
    return Facts(tuple((name, new) for name, _, new in _both(state, state)), "Figures")


def checks(items: Sequence[Check], told: Told, of: str = "") -> Parts:
    """Yield what is not met, and, folded, what is."""
    missed = tuple(unmet(one) for one in items if not one.ok and one.kind != "advice")
    yield Rank.WATCH, Sentences(f"Not met{of}", missed)
    rows = tuple(_checked(one, told) for one in items)
    hold = sum(one.ok for one in items)
    table = Table(
        "Checks", ("Demand", "value", "at least", "at most", ""), rows, numeric=frozenset({1, 2, 3})
    )
    if rows:
        line = f"{hold} of {len(rows)} checks hold{of}"
        yield Rank.FOLDED, Folded("checks", line, (table,))


def unmet(check: Check) -> str:
    """Return what a check asks and what it finds, as a sentence."""
    low = [] if check.min is None else [f"at least {figure(check.min)}"]
    high = [] if check.max is None else [f"at most {figure(check.max)}"]
    dried = " in the dried bar" if check.state == "as_dried" and "dried" not in check.name else ""
    unit = "" if check.unit == "1" else f" {check.unit}"
    advice = " (advice)" if check.kind == "advice" else ""
    asked = " and ".join((*low, *high))
    return f"{check.name}{dried}: {figure(check.value)}{unit}, asked {asked}{unit}{advice}."


def _checked(check: Check, told: Told) -> tuple[str, ...]:
    unit = "" if check.unit == "1" else f" {check.unit}"
    dried = " (dried)" if check.state == "as_dried" else ""
    verdict = check.verdict or ("holds" if check.ok else "advice" if check.kind == "advice" else "not met")
    bounds = ("" if one is None else figure(one) for one in (check.min, check.max))
    return f"{check.name}{dried}", f"{figure(check.value)}{unit}", *bounds, verdict


def findings(items: Sequence[Finding], told: Told) -> Parts:
    """Yield what stands out, worst first; beyond as many as one reads at once they are folded."""
    said = texts(items)
    most = told.rulebook.findings.at_most_in_text
    yield Rank.NOW, Sentences("What stands out", said[:most])
    if said[most:]:
        line = f"{len(said) - most} more stand out"
        yield Rank.FOLDED, Folded("all", line, (Sentences("What else stands out", said[most:]),))


def closing(answer: Answer, *, notes: Rank = Rank.WATCH) -> Parts:
    """Yield the notes, the cautions that are special to this answer and, folded, those that always stand."""
    special = tuple(one for one in answer.cautions if not getattr(one, "standing", True))
    standing = tuple(one for one in answer.cautions if getattr(one, "standing", True))
    yield Rank.WATCH, Sentences("Take care", texts(special))
    noted = Sentences("Notes", texts(answer.notes))
    if noted.items:
        yield notes, Folded("all", "Notes", (noted,)) if notes is Rank.FOLDED else noted
    if standing:
        line = f"{len(standing)} standing {'caution' if len(standing) == 1 else 'cautions'}"
        yield Rank.FOLDED, Folded("cautions", line, (Sentences("Standing cautions", texts(standing)),))


def questions(items: Sequence[TextItem]) -> Parts:
    """Yield what is still open."""
    yield Rank.OPEN, Sentences("Still open; an answer sharpens this", texts(items))


def texts(items: Sequence[TextItem | Sensitivity | Shift]) -> tuple[str, ...]:
    """Return the sentences of items."""
    return tuple(one.text for one in items)
