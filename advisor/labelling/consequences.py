"""The one place that says what a changed recipe means for its label and its preservation."""

from advisor.case.case import Look
from advisor.labelling.ingredient_list import ingredient_list, label_change
from advisor.law.preservation import preservation_change, preservatives
from advisor.learning import Window
from advisor.recipe.grams import listed
from advisor.recipe.measures import Amounts
from advisor.schema.findings import TextItem


def what_follows(look: Look, amounts: Amounts) -> tuple[TextItem, ...]:
    """Return notes on the ingredient list and the preservation where a change touches them.

    Without a market the list is compared by the names and the order of the EU.
    """
    own, materials = look.bench.amounts, look.bench.ingredients
    if amounts == own:
        return ()
    before, after = ([(of[key], materials[key].material) for key in of if of[key]] for of in (own, amounts))
    market = look.wishes.market if look.wishes.market != "none" else "eu"
    rules = look.rulebook.label
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
    law = look.rulebook.laws["eu"]
    found = preservatives(after, None, look.rulebook.substances, law)
    earlier = {item.key: own[item.key] for item in preservatives(before, None, look.rulebook.substances, law)}
    return (*notes, *preservation_change(found, earlier, look.rulebook.preservation))


def what_doughs_say(look: Look) -> tuple[TextItem, ...]:
    """Return how many doughs of the maker's tell it, and where they contradict each other or fit ill."""
    learned = look.window
    if learned is None or not look.past:
        return ()
    notes = [_how_many(look, learned)]
    if learned.widened:
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


def _how_many(look: Look, learned: Window) -> TextItem:
    """Return how many doughs the window rests on, and which powders they leave to an estimate."""
    count, needed = len(look.past), look.rulebook.dough.classes.own_from
    text = f"Where this dough is workable rests on {count} of your judged doughs"
    shares = look.bench.measures.demand_shares(look.bench.amounts)
    guessed = []
    for key in sorted(shares, key=lambda key: -shares[key]):
        one, sd = look.bench.ingredients[key], learned.demand(key)[1]
        if one.estimated and one.uptake_sd and 1 - (sd / one.uptake_sd) ** 2 < needed:
            guessed.append(one.name)
    if guessed:
        text += f"; how much {listed(guessed)} takes up is still an estimate"
    return TextItem(id="doughs-counted", text=f"{text}.")
