"""Lays out an ingredient list for paper, to be copied onto a label."""

from collections.abc import Iterator

from advisor.labelling.schema import LabelAnswer, ListedIngredient, OrderChange
from advisor.printing.document import BLANK, Blanks, Block, Checklist, Copy, Document, Facts, Sentences, Table
from advisor.writing import figure

_ALSO = "also"


def label_sheet(answer: LabelAnswer) -> Document:
    """Return the ingredient list to copy, what its order rests on, and what else the label needs.

    Parameters
    ----------
    answer : LabelAnswer

    Examples
    --------
    >>> from advisor import label
    >>> lines = [{"material": "water", "percent": 30}, {"material": "kaolin", "percent": 70}]
    >>> label_sheet(label({"recipe": {"lines": lines}, "market": "eu"})).blocks[0].text
    'Kaolin, Aqua'
    """
    name = f": {answer.name}" if answer.name else ""
    return Document(f"Ingredient list{name}", tuple(_blocks(answer)))


def _blocks(answer: LabelAnswer) -> Iterator[Block]:
    yield Copy("Ingredients, to copy", answer.text)
    yield Facts(tuple(_facts(answer)))
    yield Table(
        title="In this order",
        header=("No.", "Name", "% when made", "Order"),
        rows=tuple(
            (str(place), one.name, figure(one.percent), _order(one))
            for place, one in enumerate(answer.listed, 1)
        ),
        numeric=frozenset({2}),
    )
    if answer.order_changed_from is not None:
        yield Facts(tuple(_changed(answer.order_changed_from)), "Since the previous list")
    yield Sentences("On the label", tuple(one.says for one in answer.filled if one.says))
    yield Checklist("Also on the label", tuple(one.asks for one in answer.filled if not one.says))
    yield Sentences("Remarks", tuple(item.text for item in answer.remarks if item.id != _ALSO))
    yield Sentences("Notes", tuple(note.text for note in answer.notes))
    yield Sentences("Caution", tuple(caution.text for caution in answer.cautions))
    yield Blanks("Checked against the printed label", ("Batch", "Date", "Name"))
    yield Facts((("Order by", f"{answer.source} ({answer.basis})"), ("Rules", answer.rules_version)))


def _facts(answer: LabelAnswer) -> Iterator[tuple[str, str]]:
    yield "Market", "none named" if answer.market == "none" else answer.market.upper()
    yield "Product", answer.name or BLANK
    if answer.free_order_from is not None:
        yield "Any order from", answer.ingredients[answer.free_order_from]
    yield "Allergens named", ", ".join(answer.allergens) or "none"


def _order(one: ListedIngredient) -> str:
    return "last, as a colourant" if one.colourant else "any" if one.free else "by weight"


def _changed(change: OrderChange) -> Iterator[tuple[str, str]]:
    for name, names in (("Moved", change.moved), ("Added", change.added), ("Dropped", change.dropped)):
        yield name, ", ".join(names) or "none"
