"""The one place that lays out an ingredient list for paper, to be copied onto a label."""

from advisor.printing.document import Document, Facts, Sentences
from advisor.shapes.label import LabelAnswer


def label_sheet(answer: LabelAnswer) -> Document:
    """Return the ingredient list with what else the label needs and what moved since the last one.

    Examples
    --------
    >>> from advisor.tasks.label import label
    >>> lines = [{"material": "water", "percent": 30}, {"material": "kaolin", "percent": 70}]
    >>> label_sheet(label({"recipe": {"lines": lines}, "market": "eu"})).blocks[0].pairs[0]
    ('Ingredients', 'Kaolin, Aqua')
    """
    facts = [("Ingredients", answer.text)]
    if answer.free_order_from is not None:
        facts.append(("Any order from", answer.ingredients[answer.free_order_from]))
    if answer.allergens:
        facts.append(("Allergens named", ", ".join(answer.allergens)))
    if answer.order_changed_from is not None:
        facts += [
            (name.capitalize(), ", ".join(names) or "none") for name, names in answer.order_changed_from
        ]
    return Document(
        f"Ingredient list ({answer.market})",
        (
            Facts(tuple(facts)),
            Sentences("Also on the label, and remarks", tuple(item.text for item in answer.remarks)),
            Sentences("Take care", tuple(item.text for item in (*answer.notes, *answer.cautions))),
            Facts((("Source", answer.source), ("Rules", answer.rules_version))),
        ),
    )
