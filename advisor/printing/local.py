"""Writes a document as its reader writes: figures, days, and weights in grams or ounces."""

import re
from collections.abc import Callable

from advisor.frozen import replace
from advisor.printing.document import (
    Blanks,
    Block,
    Checklist,
    Copy,
    Document,
    Facts,
    Folded,
    Sentences,
    Table,
)
from advisor.writing import GRAMS_PER_OUNCE, Writing, figure

_WEIGHT = re.compile(r"(?P<sign>[+-]?)(?P<figure>\d+(\.\d+)?) g")
_BARE = re.compile(r"(?P<sign>[+-]?)(?P<figure>\d+(\.\d+)?)")
_IN_GRAMS = re.compile(r"(.* )?g")


def written(document: Document, writing: Writing, units: str = "g") -> Document:
    """Return a document as it is written for its reader; what is to be copied or typed stays.

    Parameters
    ----------
    document : Document
    writing : Writing
    units : {"g", "oz"}
        Unit of the weights that stand by themselves: in tables and facts. Sentences stay in grams.

    Examples
    --------
    >>> table = Table("", ("Add", "in all"), (("Kaolin", "56.7 g"),), numeric=frozenset({1}))
    >>> written(Document("Bowl", (table,)), Writing(","), "oz").blocks[0].rows
    (('Kaolin', '2 oz'),)
    """
    blocks = tuple(_block(one, writing.text, units) for one in document.blocks)
    return replace(document, title=writing.text(document.title), blocks=blocks)


def _block(one: Block, text: Callable[[str], str], units: str) -> Block:
    def cell(said: str) -> str:
        weighed = units == "oz" and _WEIGHT.fullmatch(said)
        return text(_WEIGHT.sub(_in_ounces(" oz"), said) if weighed else said)

    match one:
        case Facts():
            pairs = tuple((name, cell(said)) for name, said in one.pairs)
            return replace(one, pairs=pairs, title=text(one.title))
        case Table():
            table = _table_in_ounces(one) if units == "oz" else one
            rows = tuple(tuple(map(cell, row)) for row in table.rows)
            return replace(table, title=text(one.title), rows=rows, remarks=tuple(map(text, one.remarks)))
        case Sentences() | Checklist():
            return replace(one, title=text(one.title), items=tuple(map(text, one.items)))
        case Folded():
            blocks = tuple(_block(below, text, units) for below in one.blocks)
            return replace(one, line=text(one.line), blocks=blocks)
        case Copy() | Blanks():
            return one


def _table_in_ounces(table: Table) -> Table:
    """Return a table whose columns that are headed by grams are in ounces."""
    bare = {place for place, name in enumerate(table.header) if _IN_GRAMS.fullmatch(name)} & table.numeric
    header = tuple(f"{name[:-1]}oz" if place in bare else name for place, name in enumerate(table.header))
    rows = tuple(
        tuple(_BARE.sub(_in_ounces(""), said) if place in bare else said for place, said in enumerate(row))
        for row in table.rows
    )
    return replace(table, header=header, rows=rows)


def _in_ounces(unit: str) -> Callable[[re.Match[str]], str]:
    def converted(found: re.Match[str]) -> str:
        return f"{found['sign']}{figure(float(found['figure']) / GRAMS_PER_OUNCE, 3)}{unit}"

    return converted
