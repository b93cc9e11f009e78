"""The one place that says what a changed recipe means for its label and its preservation."""

from advisor.shapes.findings import TextItem
from advisor.tasks.standing import Look
from advisor.trade.label import ingredient_list, label_change
from advisor.trade.measures import Amounts
from advisor.trade.preservation import preservation_change, preservatives


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
