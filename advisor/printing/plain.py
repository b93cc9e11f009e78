"""Writes a document as plain text, whole for paper or folded for a screen."""

import textwrap
from collections.abc import Container, Iterator
from dataclasses import dataclass
from itertools import zip_longest

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
    one_line,
)

_BOX = "[ ]"
_LINE = "_" * 24
_GAP = "  "
_NARROWEST = 12


def as_text(document: Document) -> str:
    """Return a document as plain text for paper, at most 88 columns wide but for long words and copies.

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
    return _Writer(88, None).written(document)


def on_screen(document: Document, width: int = 80, unfolded: Container[str] = ()) -> str:
    """Return a document for a terminal: what is folded in a line that says how to unfold it, hint last.

    Parameters
    ----------
    document : Document
    width : int
        Columns of the terminal.
    unfolded : container of str
        Names of what is shown whole; ``all`` is everything.

    Examples
    --------
    >>> folded = Folded("checks", "9 of 9 checks hold", (Sentences("Checks", ("All hold.",)),))
    >>> print(on_screen(Document("Bar", (folded,))))
    Bar
    <BLANKLINE>
    9 of 9 checks hold: --checks
    <BLANKLINE>
    >>> print(on_screen(Document("Bar", (folded,)), unfolded={"checks"}))
    Bar
    <BLANKLINE>
    Checks
    - All hold.
    <BLANKLINE>
    """
    return _Writer(width, unfolded).written(document)


@dataclass(frozen=True)
class _Writer:
    """Writes at a width; ``unfolded`` is None on paper, where everything stands whole, headings ruled."""

    width: int
    unfolded: Container[str] | None

    def written(self, document: Document) -> str:
        lines = self._headed(document.title, "=")
        folded: dict[str, list[str]] = {}
        for block in self._flat(document.blocks):
            if isinstance(block, Folded):
                folded.setdefault(block.name, []).append(block.line)
                continue
            told = list(self._lines(block))
            if told:
                lines += ["", *told]
        if folded:
            lines.append("")
        for name, said in folded.items():
            lines += self._wrapped("", f"{'; '.join(dict.fromkeys(said))}: --{name}")
        if document.hint and self.unfolded is not None:
            lines += ["", f"Next: {one_line(document.hint)}"]
        return "\n".join(lines) + "\n"

    def _flat(self, blocks: tuple[Block, ...]) -> Iterator[Block]:
        """Yield the blocks with what is unfolded in its place."""
        for block in blocks:
            if not isinstance(block, Folded) or self._is_folded(block.name):
                yield block
            else:
                yield from self._flat(block.blocks)

    def _is_folded(self, name: str) -> bool:
        return self.unfolded is not None and name not in self.unfolded and "all" not in self.unfolded

    def _lines(self, block: Block) -> Iterator[str]:
        match block:
            case Facts(pairs, title):
                if pairs and title:
                    yield from self._headed(title)
                width = max((len(name) for name, _ in pairs), default=0)
                for name, value in pairs:
                    yield from self._wrapped(f"{name:<{width}}  ", value)
            case Copy(title, text):
                yield from self._headed(title)
                yield one_line(text)
            case Table():
                if block.rows:
                    yield from self._headed(block.title)
                    yield from self._table(block)
            case Checklist(title, items):
                if items:
                    yield from self._headed(title)
                for number, item in enumerate(items, 1):
                    yield from self._wrapped(f"{_BOX} {number:>2}. ", item)
            case Sentences(title, items):
                if items:
                    yield from self._headed(title)
                for item in items:
                    yield from self._wrapped("- " if title else "", item)
            case Blanks(title, names):
                if names:
                    yield from self._headed(title)
                yield from (f"{name}: {_LINE}" for name in names)

    def _headed(self, title: str, under: str = "-") -> list[str]:
        told = one_line(title)
        if self.unfolded is not None or not told:
            return textwrap.wrap(told, self.width)
        return [told, under * len(told)]

    def _wrapped(self, lead: str, text: str) -> list[str]:
        return textwrap.wrap(
            one_line(text),
            self.width,
            initial_indent=lead,
            subsequent_indent=" " * len(lead),
            break_long_words=False,
            break_on_hyphens=False,
        )

    def _table(self, table: Table) -> Iterator[str]:
        rows = [tuple(map(one_line, row)) for row in table.rows]
        lead = f"{_BOX} " if table.ticks else ""
        blank = " " * len(lead)
        widths = self._widths([table.header, *rows], table.numeric, len(lead))

        def line(row: tuple[str, ...]) -> Iterator[str]:
            cells = [
                [cell] if i in table.numeric else textwrap.wrap(cell, widths[i]) or [""]
                for i, cell in enumerate(row)
            ]
            for part in zip_longest(*cells, fillvalue=""):
                told = (
                    f"{cell:>{width}}" if i in table.numeric else f"{cell:<{width}}"
                    for i, (cell, width) in enumerate(zip(part, widths, strict=True))
                )
                yield _GAP.join(told).rstrip()

        yield from (blank + part for part in line(table.header))
        for i, row in enumerate(rows):
            first, *more = line(row)
            yield lead + first
            yield from (blank + part for part in more)
            if i < len(table.remarks) and table.remarks[i]:
                yield from self._wrapped(f"{blank}  ! ", table.remarks[i])

    def _widths(self, rows: list[tuple[str, ...]], numeric: frozenset[int], lead: int) -> list[int]:
        """Return the widths of the columns; on a screen the widest texts wrap until all fit."""
        widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
        texts = [i for i in range(len(widths)) if i not in numeric]
        while self.unfolded is not None and texts:
            over = lead + sum(widths) + len(_GAP) * (len(widths) - 1) - self.width
            widest = max(texts, key=lambda i: widths[i])
            if over <= 0 or widths[widest] <= _NARROWEST:
                break
            widths[widest] -= 1
        return widths
