"""The parts that answers share: recipes, reasons, checks, what to watch, what is still open."""

from collections.abc import Container, Iterator, Mapping, Sequence

from advisor.printing.document import SCREEN, TWO_SCREENS, Block, Facts, Folded, Rank, Sentences, Table
from advisor.printing.told import Told
from advisor.recipe.grams import listed
from advisor.schema.findings import Answer, Change, Check, Finding, HoldBack, State, TextItem
from advisor.schema.recipe import GramLine, PercentRecipe
from advisor.writing import behind, between, counted, decimals, figure, in_state

Parts = Iterator[tuple[Rank, Block]]
_FIRST_FIGURES = ("Active matter", "Water", "Liquid to powder", "How wet it is for its powders", "Price")
_OF_THE_LAW = ("law-", "assessed-", "duty-")
_UNCHECKED = "no-law-checked"
_STILL_SO = "if-it-is-still-so"
_ASKED_AT_ONCE = 2
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
    """Return old and new percents in the order of the recipe, what left it last, with the total.

    Where a batch is named its new grams stand beside them.
    """
    moved = {one.material: one for one in changes}
    kept = {line.material: line.percent for line in recipe.lines}
    batch = told.body.get("batch_grams")
    rows = []
    for key in (*kept, *(key for key in moved if key not in kept)):
        one = moved.get(key)
        before, after = (kept[key], kept[key]) if one is None else (one.before, one.after)
        grams = (
            one.grams_after if one is not None and one.grams_after is not None else after * (batch or 0) / 100
        )
        change = f"{one.change:+g}" if one else ""
        rows.append((told.name(key), figure(before), figure(after), change, f"{figure(grams, 2)} g"))
    rows.append(("Total", "100", "100", "", f"{figure(batch or 0, 2)} g"))
    header = ("Material", "old %", "new %", "change", "new")
    width = 5 if batch else 4
    return Table("", header[:width], tuple(row[:width] for row in rows), numeric=frozenset(range(1, width)))


def reasons(changes: Sequence[Change], told: Told) -> Parts:
    """Yield one true reason a line, with every move it is the reason of, and, folded, the figures behind."""
    told_why = together([(one.material, one.why) for one in changes], told)
    yield Rank.REASONS, Sentences("Why" if len(told_why) == 1 else "", told_why)
    whole = tuple(
        f"{told.name(one.material)} {one.change:+g}: {one.why_figures}" for one in changes if one.why_figures
    )
    if whole:
        yield Rank.FOLDED, Folded("why", "figures of the reasons", (Sentences("Reasons", whole),))


def together(whys: Sequence[tuple[str, str]], told: Told) -> tuple[str, ...]:
    """Return the reasons of moves, those of one cause in one sentence.

    Examples
    --------
    >>> whys = [("kaolin", "More Kaolin, as it is wet."), ("rose-clay", "Less Rose clay, as it is wet.")]
    >>> together(whys, Told({}))
    ('More Kaolin, less Rose clay, as it is wet.',)
    """
    causes: dict[str, dict[str, list[str]]] = {}
    for key, why in whys:
        does, name, cause = why.partition(told.short(key))
        causes.setdefault(cause, {}).setdefault(does, []).append(name)
    return tuple(_moved(moved) + cause for cause, moved in causes.items())


def _moved(moved: Mapping[str, Sequence[str]]) -> str:
    first, *more = (does + listed(names) for does, names in moved.items())
    return ", ".join((first, *(one[:1].lower() + one[1:] for one in more)))


def grams_table(title: str, lines: Sequence[GramLine], told: Told) -> Table:
    """Return materials with their grams."""
    rows = tuple((told.name(one.material), f"{figure(one.grams)} g") for one in lines)
    return Table(title, ("Material", "amount"), rows, numeric=frozenset({1}))


def bench(
    advice: Sequence[TextItem],
    questions: Sequence[TextItem],
    told: Told,
    *,
    first: bool = False,
) -> Parts:
    """Yield what to do before the recipe is changed, what else helps at the bench, and what is still open.

    Where all advice is to come ``first`` nothing else is to be done. A recipe that holds only once something
    was answered says so beside the questions.
    """
    ids = [one.id for one in advice]
    count = ids.index(_STILL_SO) + 1 if _STILL_SO in ids else len(ids) if first else 0
    before, later = told.texts(advice[:count]), told.texts(advice[count:])
    rests = before if ids[:count] == [_STILL_SO] else ()
    yield Rank.NOW, Sentences("Do this first", () if rests else before)
    counted = ("hint", "hints")
    yield Rank.REASONS, Sentences("At the bench", later, counted=counted)
    asked = list(map(told.asked, questions))
    if len(asked) > _ASKED_AT_ONCE + 1:
        asked[_ASKED_AT_ONCE:] = [f"{len(asked) - _ASKED_AT_ONCE} more"]
    open_now = f"{listed(asked)}." if asked else ""
    yield Rank.OPEN, Sentences("Still open" if open_now else "", _one((open_now, *rests)))
    if questions:
        whole = Sentences("Still open; an answer sharpens this", told.texts(questions))
        yield Rank.FOLDED, Folded("all", "the questions", (whole,))


def _one(sentences: Sequence[str]) -> tuple[str, ...]:
    """Return sentences as one remark; none where all are empty."""
    told = " ".join(filter(None, sentences))
    return (told,) if told else ()


def outcome(before: State, after: State) -> Parts:
    """Yield where the strength and the dough get to, and, folded, every figure before and after."""
    strength = f"Strength: {figure(before.totals.active)} % before, {figure(after.totals.active)} % after."
    chances = (before.consistency.chance_workable, after.consistency.chance_workable)
    if after.consistency.basis == "own" and None not in chances:
        old, new = (f"{100 * chance:.0f}" for chance in chances if chance is not None)
        strength += f" Chance that it is workable: {old} % before, {new} % after."
    yield Rank.REASONS, Sentences("", (strength,))
    yield Rank.FOLDED, before_and_after("before and after", before, after)


def before_and_after(title: str, before: State, after: State) -> Folded:
    """Return every figure of two recipes, or of one before and after."""
    rows = tuple(_both(before, after))
    return Folded("all", title, (Table(title, ("", "before", "after"), rows, numeric=frozenset({1, 2})),))


def _both(before: State, after: State) -> Iterator[tuple[str, str, str]]:
    first_guess = "own" not in (before.consistency.basis, after.consistency.basis)
    for name, part, field, unit in _FIGURES:
        if first_guess and field.startswith("chance"):
            continue
        old, new = (getattr(getattr(one, part), field) for one in (before, after))
        if old or new:
            yield name, _with(old, unit), _with(new, unit)


def _with(value: float | None, unit: str) -> str:
    return "" if value is None else f"{figure(value)}{unit}"


def figures(state: State) -> Parts:
    """Yield what a recipe is in one line, and every figure of it, folded."""
    whole = Facts(tuple((name, new) for name, _, new in _both(state, state)), "Figures")
    told = dict(whole.pairs)
    first, *more = (f"{name} {told[name]}" for name in _FIRST_FIGURES if name in told)
    said = ", ".join((first, *(one[:1].lower() + one[1:] for one in more)))
    yield Rank.FIGURES, Sentences("", (f"{said}.",))
    yield Rank.FOLDED, Folded("all", counted(len(told), "figure"), (whole,))


def kept_back(held: Sequence[HoldBack], told: Told) -> tuple[str, ...]:
    """Return what to keep back of the liquids, in grams where a batch is named."""
    some = "; ".join(
        f"{figure(one.percent)} %{'' if one.grams is None else f' ({figure(one.grams)} g)'}"
        f" {told.short(one.material)}"
        for one in held
    )
    return (f"Keep back and feed to feel: {some}.",) if some else ()


def checks(items: Sequence[Check], told: Told, *, of: str = "", said: Container[str] = ()) -> Parts:
    """Yield what is not met and not ``said`` elsewhere, and, folded, what is."""
    missed = tuple(
        unmet(one) for one in items if not one.ok and one.kind != "advice" and one.name not in said
    )
    yield Rank.WATCH, Sentences(f"Not met{of}", missed)
    rows = tuple(_checked(one) for one in items)
    hold = sum(one.ok for one in items)
    table = Table(
        "Checks", ("Demand", "value", "at least", "at most", ""), rows, numeric=frozenset({1, 2, 3})
    )
    if rows:
        yield Rank.FOLDED, Folded("checks", f"{hold} of {len(rows)} checks hold{of}", (table,))


def told_as_findings(items: Sequence[Check], found: Sequence[Finding]) -> frozenset[str]:
    """Return the names of the checks of which a finding tells that they are not met."""
    ids = {one.id for one in found}
    return frozenset(one.name for one in items if one.finding in ids)


def unmet(check: Check) -> str:
    """Return what a check asks and what it finds, as a sentence."""
    digits = decimals(check.value, check.bounds, check.unit)
    unit = behind(check.unit)
    asked = between(check.min, check.max, digits) + unit + (" (advice)" if check.kind == "advice" else "")
    return f"{in_state(check.name, check.state)}: {figure(check.value, digits)}{unit}, asked {asked}."


def _checked(check: Check) -> tuple[str, ...]:
    dried = " (dried)" if check.state == "as_dried" else ""
    verdict = check.verdict or ("holds" if check.ok else "advice" if check.kind == "advice" else "not met")
    bounds = ("" if one is None else figure(one) for one in (check.min, check.max))
    return f"{check.name}{dried}", f"{figure(check.value)}{behind(check.unit)}", *bounds, verdict


def findings(items: Sequence[Finding], told: Told) -> Parts:
    """Yield what stands out, worst first; beyond as many as one reads at once they are folded."""
    said = told.texts(items)
    most = told.rulebook.findings.at_most_in_text
    yield Rank.NOW, Sentences("What stands out", said[:most])
    if said[most:]:
        line = f"{len(said) - most} more stand out"
        yield Rank.FOLDED, Folded("all", line, (Sentences("What else stands out", said[most:]),))


def closing(
    answer: Answer, told: Told, *, open_notes: bool = False, of_law: bool = False, said: Container[str] = ()
) -> Parts:
    """Yield the notes, the cautions that are special to this answer and, folded, those that always stand.

    Notes whose ids are ``said``, as the table says what they say, are folded too; a caution whose very
    text is said is not repeated.
    That no law was checked stands in the place of the law, where there are notes on it or it is ``of_law``.
    """
    lawful = [one for one in answer.notes if one.id.startswith(_OF_THE_LAW)]
    noted = [one for one in answer.notes if one not in lawful and one.id not in said]
    repeated = Sentences("Said by the table", told.texts([one for one in answer.notes if one.id in said]))
    unchecked = [one for one in answer.cautions if one.id == _UNCHECKED and (of_law or lawful)]
    special = [
        one for one in answer.cautions if not one.standing and one not in unchecked and one.text not in said
    ]
    standing = [one for one in answer.cautions if one.standing and one not in unchecked]
    yield Rank.WATCH, Sentences("Take care", told.texts(special))
    room = TWO_SCREENS if open_notes else SCREEN
    yield Rank.WATCH, Sentences("Notes", told.texts(noted), ("note", "notes"), room)
    yield Rank.WATCH, Sentences("The law", told.texts(unchecked))
    asked = ("What assessments ask", ("note of an assessment", "notes of assessments"))
    title, called = asked if unchecked else ("The law", ("note on the law", "notes on the law"))
    yield Rank.WATCH, Sentences(title, told.texts(lawful), called)
    yield Rank.FOLDED, Folded("all", "what the table says", (repeated,))
    if standing:
        yield (
            Rank.FOLDED,
            Folded(
                "cautions",
                counted(len(standing), "standing caution"),
                (Sentences("Standing cautions", told.texts(standing)),),
            ),
        )
