"""What is noted beside an answer: law and assessments, and what a change means for label and preservation."""

from collections.abc import Sequence
from functools import lru_cache

from advisor.case.case import Case
from advisor.case.unmet import limits_passed
from advisor.labelling.declared import declaration
from advisor.labelling.ingredient_list import ingredient_list, label_change
from advisor.law.notes import list_notes
from advisor.law.preservation import preservation_change, preservation_texts, preservatives
from advisor.learning import Window
from advisor.recipe.consistency import window_width
from advisor.recipe.grams import listed
from advisor.recipe.measures import Amounts
from advisor.rulebook.identity import ByIdentity
from advisor.rulebook.label import LabelRules
from advisor.rulebook.law import LawBook, conditions_met, without_maximum
from advisor.rulebook.levels import AssessedFile
from advisor.rulebook.verdicts import STANDS_OUT
from advisor.schema.base import WHOLE
from advisor.schema.findings import TextItem
from advisor.schema.material import Material
from advisor.sums import summed

Lines = Sequence[tuple[float, Material]]
_REMEMBERED = 8192


def law_notes(case: Case, *recipes: Amounts, whole: bool = False) -> tuple[TextItem, ...]:
    """Return what the law of the market says of the recipes of an answer besides its limits, each thing once.

    A pH that was read comes first: what it means for the skin and for what preserves the first of them.

    Parameters
    ----------
    case : Case
        The recipe they come from, with the market that was wished; without one the law says nothing.
    *recipes : mapping
        One or more recipes [% or g].
    whole : bool
        Whether limits that are passed, bans and the like are told here as well: elsewhere checks and cautions
        tell them.
    """
    law, measures, book = case.law, case.formula.measures, case.rulebook
    told: dict[str, TextItem] = {one.id: one for amounts in recipes[:1] for one in _at_ph(case, amounts)}
    besides = frozenset() if whole else STANDS_OUT
    if law is None:
        return tuple(told.values())
    for amounts in recipes:
        lines = _lines(case, amounts)
        lists = list_notes(
            measures, amounts, law, case.wishes.used_on, book.law_words, case.day, besides=besides
        )
        for item in (
            *(limits_passed(case, amounts) if whole else ()),
            *legal_notes(lines, law, book.label, case.ph),
            *lists,
        ):
            told.setdefault(item.id, item)
    return tuple(told.values())


def _lines(case: Case, amounts: Amounts) -> list[tuple[float, Material]]:
    total, of = sum(amounts.values()), case.formula.ingredients
    return [(WHOLE * amount / total, of[key].material) for key, amount in amounts.items() if amount > 0]


def _at_ph(case: Case, amounts: Amounts) -> tuple[TextItem, ...]:
    """Return what a pH that was read means for skin and preservatives; nothing where none was read.

    That it proves nothing always stands among the cautions.
    """
    if case.ph is None:
        return ()
    read = case.rulebook.acidity.said("ph_read", ph=case.ph, skin=case.rulebook.acidity.skin)
    return (read, *preserving(case, amounts)[:-1])


def preserving(case: Case, amounts: Amounts) -> tuple[TextItem, ...]:
    """Return what is known of the preservation of a recipe, at the pH that was read."""
    lines, rules = _lines(case, amounts), case.rulebook
    found = preservatives(lines, case.ph, rules.substances, case.laws["eu"])
    return preservation_texts(found, lines, case.ph, rules.preservation)


def legal_notes(
    lines: Lines, law: LawBook | None, rules: LabelRules, ph: float | None = None
) -> tuple[TextItem, ...]:
    """Return the conditions that apply, and the preservatives without a legal maximum.

    Parameters
    ----------
    lines : sequence of (percent, Material)
        The recipe [% by mass].
    law : LawBook or None
        The law of the market; without one nothing is said.
    rules : LabelRules
        Sentences.
    ph : float, optional
        Measured pH of the product.

    Notes
    -----
    By-products that a supplier does not declare call for no note: the caustic of a glucoside adjusts nothing.
    """
    if law is None:
        return ()
    by = ByIdentity(rules)
    amounts = summed(
        (name, percent * held / 100)
        for percent, material in lines
        for name, held in _declared(ByIdentity(material), by)
    )
    used = [material for percent, material in lines if percent > 0]
    preserving = {
        name: amounts[name]
        for material in used
        if "preservative" in material.roles
        for name in material.composition
        if name in amounts
    }
    return (
        *(
            TextItem(
                id=f"law-{condition.id}",
                text=rules.text["condition"].format(what=condition.text, rest=law.source_of(condition)),
            )
            for condition in conditions_met(law, amounts, ph)
        ),
        *(
            TextItem(
                id=f"law-no-maximum-{entry.id}",
                text=rules.text["no_maximum"].format(what=entry.name),
            )
            for entry in without_maximum(law, preserving)
        ),
    )


@lru_cache(maxsize=_REMEMBERED)
def _declared(material: ByIdentity[Material], rules: ByIdentity[LabelRules]) -> tuple[tuple[str, float], ...]:
    """Return what a material consists of [%], but for what stands on no label."""
    key = rules.thing.key
    names = {key(one.name) for one in declaration(material.thing, "eu", rules.thing).names}
    return tuple((name, held) for name, held in material.thing.composition.items() if key(name) in names)


def assessment_remarks(lines: Lines, rules: AssessedFile) -> tuple[TextItem, ...]:
    """Return what safety assessments ask without naming a figure, for the components a recipe holds."""
    held = {name.casefold() for percent, material in lines if percent > 0 for name in material.composition}
    return tuple(
        TextItem(id=f"assessed-{remark.id}", text=f"{remark.text} ({remark.source})")
        for remark in rules.remark
        if any(name.casefold() in held for name in remark.components)
    )


def consequence_notes(case: Case, amounts: Amounts) -> tuple[TextItem, ...]:
    """Return notes on the ingredient list and the preservation where a change touches them.

    Without a market the list is compared by the names and the order of the EU.
    """
    own, materials = case.formula.amounts, case.formula.ingredients
    if amounts == own:
        return ()
    before, after = ([(of[key], materials[key].material) for key in of if of[key]] for of in (own, amounts))
    market = case.wishes.market if case.wishes.market != "none" else "eu"
    rules = case.rulebook.label
    previous = ingredient_list(before, market, rules)
    change = label_change(previous.names, ingredient_list(after, market, rules), rules)
    told = [
        f"{what}: {', '.join(names)}"
        for what, names in (("moved", change.moved), ("added", change.added), ("dropped", change.dropped))
        if names
    ]
    notes = []
    if told:
        notes.append(
            TextItem(id="label", text=f"The ingredient list changes ({'; '.join(told)}): print a new label.")
        )
    law = case.laws["eu"]
    found = preservatives(after, None, case.rulebook.substances, law)
    earlier = {item.key: own[item.key] for item in preservatives(before, None, case.rulebook.substances, law)}
    return (*notes, *preservation_change(found, earlier, case.rulebook.preservation))


def learning_notes(case: Case) -> tuple[TextItem, ...]:
    """Return how many doughs of the maker's tell it, and where they contradict each other or fit ill."""
    learned = case.learned.window
    if learned is None or not case.learned.past_doughs:
        return ()
    notes = [_how_many(case, learned)]
    if case.learned.own:
        powders = case.formula.measures.demand_shares(case.formula.amounts)
        best = learned.best_chance(window_width(powders, case.formula.ingredients, case.rulebook.dough))
        text = (
            f"Even at the very centre of your window {100 * best:.0f} in 100 such doughs are called workable."
        )
        notes.append(TextItem(id="doughs-best", text=text))
    if learned.contradicted:
        text = (
            "Your doughs contradict each other, so the window is taken wider than they alone would make it."
        )
        notes.append(TextItem(id="doughs-contradict", text=text))
    if learned.outliers:
        count = len(learned.outliers)
        did = "was not followed" if learned.set_aside else "was followed all the same"
        text = f"{count} of your doughs does not fit the others and {did}."
        if count > 1:
            text = text.replace("does not fit", "do not fit").replace(" was ", " were ")
        notes.append(
            TextItem(id="doughs-odd", text=f"{text} Was a lot, a balance or a temperature different?")
        )
    return tuple(notes)


def _how_many(case: Case, learned: Window) -> TextItem:
    """Return how many doughs the window rests on, and which powders they leave to an estimate."""
    count, needed = len(case.learned.past_doughs), case.rulebook.dough.classes.own_from
    text = f"Where this dough is workable rests on {count} of your judged doughs"
    shares = case.formula.measures.demand_shares(case.formula.amounts)
    guessed = []
    for key in sorted(shares, key=lambda key: -shares[key]):
        one, sd = case.formula.ingredients[key], learned.demand(key)[1]
        if one.estimated and one.uptake_sd and 1 - (sd / one.uptake_sd) ** 2 < needed:
            guessed.append(one.name)
    if guessed:
        text += f"; how much {listed(guessed)} takes up is still an estimate"
    return TextItem(id="doughs-counted", text=f"{text}.")
