"""Writes a document as plain text."""

import textwrap
from collections.abc import Iterator

from advisor.printing.document import (
    Blanks,
    Block,
    Checklist,
    Copy,
    Document,
    Facts,
    Sentences,
    Table,
    one_line,
)

_WIDTH = 88
_BOX = "[ ]"
_LINE = "_" * 24


def as_text(document: Document) -> str:
    """Return a document as plain text, at most 88 columns wide but for tables, long words and what is copied.

    Examples
    --------
    >>> print(as_text(Document("Sheet", (Checklist("To do", ("Stir.",)),))))
    Sheet
    =====
    <BLANKLINE>
    To do
    -----
    [ ]  1. Stir.
    <BLANKLINE>
    """
    lines = _headed(document.title, "=")
    for block in document.blocks:
        told = list(_lines(block))
        if told:
            lines += ["", *told]
    return "\n".join(lines) + "\n"


def _lines(block: Block) -> Iterator[str]:
    match block:
        case Facts(pairs, title):
            if pairs and title:
                yield from _headed(title)
            width = max((len(name) for name, _ in pairs), default=0)
            for name, value in pairs:
                yield from _wrapped(f"{name:<{width}}  ", value)
        case Copy(title, text):
            yield from _headed(title)
            yield one_line(text)
        case Table():
            if block.rows:
                yield from _headed(block.title)
                yield from _table(block)
        case Checklist(title, items):
            if items:
                yield from _headed(title)
            for number, item in enumerate(items, 1):
                yield from _wrapped(f"{_BOX} {number:>2}. ", item)
        case Sentences(title, items):
            if items:
                yield from _headed(title)
            for item in items:
                yield from _wrapped("- ", item)
        case Blanks(title, names):
            if names:
                yield from _headed(title)
            yield from (f"{name}: {_LINE}" for name in names)


def _headed(title: str, under: str = "-") -> list[str]:
    told = one_line(title)
    return [told, under * len(told)]


def _wrapped(lead: str, text: str) -> list[str]:
    return textwrap.wrap(
        one_line(text),
        _WIDTH,
        initial_indent=lead,
        subsequent_indent=" " * len(lead),
        break_long_words=False,
        break_on_hyphens=False,
    )


def _table(table: Table) -> Iterator[str]:
    rows = [tuple(map(one_line, row)) for row in table.rows]
    every = (table.header, *rows)
    widths = [max(len(row[i]) for row in every) for i in range(len(table.header))]

    def line(row: tuple[str, ...]) -> str:
        cells = (
            f"{cell:>{width}}" if i in table.numeric else f"{cell:<{width}}"
            for i, (cell, width) in enumerate(zip(row, widths, strict=True))
        )
        return "  ".join(cells).rstrip()

    lead = f"{_BOX} " if table.ticks else ""
    blank = " " * len(lead)
    yield blank + line(table.header)
    for i, row in enumerate(rows):
        yield lead + line(row)
        if i < len(table.remarks) and table.remarks[i]:
            yield from _wrapped(f"{blank}  ! ", table.remarks[i])
