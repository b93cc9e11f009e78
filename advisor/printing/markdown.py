"""Writes a document as Markdown."""

import re
from collections.abc import Iterator

from advisor.printing.document import (
    BLANK,
    Blanks,
    Block,
    Checklist,
    Copy,
    Document,
    Facts,
    Folded,
    Sentences,
    Table,
    one_line,
)

_SPECIAL = re.compile(r"([\\`*_{}\[\]<>#|~&])")
_OPENING = re.compile(r"^(\d*)([-+.)])(?= |$)")


def as_markdown(document: Document) -> str:
    """Return a document as Markdown with pipe tables and task lists.

    Examples
    --------
    >>> print(as_markdown(Document("Sheet", (Checklist("To do", ("Stir *well*.",)),))))
    # Sheet
    <BLANKLINE>
    ## To do
    <BLANKLINE>
    1. [ ] Stir \\*well\\*.
    <BLANKLINE>
    """
    lines = [f"# {_escaped(document.title)}"]
    for block in document.blocks:
        told = list(_lines(block))
        if told:
            lines += ["", *told]
    return "\n".join(lines) + "\n"


def _lines(block: Block) -> Iterator[str]:
    match block:
        case Facts(pairs, title):
            yield from _headed(title) if pairs else ()
            yield from (f"- **{_escaped(name)}:** {_escaped(value)}" for name, value in pairs)
        case Copy(title, text):
            yield from _headed(title)
            yield _escaped(text)
        case Table():
            if block.rows:
                yield from _headed(block.title)
                yield from _table(block)
        case Checklist(title, items):
            yield from _headed(title) if items else ()
            yield from (f"{number}. [ ] {_escaped(item)}" for number, item in enumerate(items, 1))
        case Sentences(title, items):
            yield from _headed(title) if items else ()
            yield from (f"- {_escaped(item)}" for item in items)
        case Blanks(title, names):
            yield from _headed(title) if names else ()
            yield from (f"- {_escaped(name)}: {_escaped(BLANK)}" for name in names)
        case Folded(blocks=blocks):
            for inner in blocks:
                yield from ("", *_lines(inner))


def _headed(title: str) -> tuple[str, ...]:
    return (f"## {_escaped(title)}", "") if title else ()


def _table(table: Table) -> Iterator[str]:
    first = ("",) if table.ticks else ()
    remarked = ("Remark",) if any(table.remarks) else ()
    header = (*first, *table.header, *remarked)
    numeric = {i + len(first) for i in table.numeric}
    yield _row(header)
    yield _row(tuple("--:" if i in numeric else "---" for i in range(len(header))), escape=False)
    for i, row in enumerate(table.rows):
        remark = (table.remarks[i],) if remarked else ()
        box = ("\u2610",) if table.ticks else ()
        yield _row((*box, *row, *remark))


def _row(cells: tuple[str, ...], *, escape: bool = True) -> str:
    return "| " + " | ".join(_escaped(cell) if escape else cell for cell in cells) + " |"


def _escaped(text: str) -> str:
    """Return a text that Markdown shows as it is, wherever in a line or at its start it stands."""
    return _OPENING.sub(r"\1\\\2", _SPECIAL.sub(r"\\\1", one_line(text)))
