"""Says what a changed recipe means for its label and its preservation."""

from advisor.case.case import Case
from advisor.labelling.ingredient_list import ingredient_list, label_change
from advisor.law.preservation import preservation_change, preservatives
from advisor.learning import Window
from advisor.recipe.consistency import window_width
from advisor.recipe.grams import listed
from advisor.recipe.measures import Amounts
from advisor.schema.findings import TextItem


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
        width = window_width(powders, case.formula.ingredients, case.rulebook.dough)
        best = learned.best_chance(width)
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
