"""Writes a document as plain text, whole for paper or folded for a screen."""

import textwrap
from collections.abc import Container, Iterable, Iterator, Mapping, Sequence
from itertools import zip_longest

from advisor.frozen import dataclass, replace
from advisor.printing.document import (
    BLANK,
    SCREEN,
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
_REST = "all"


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
    9 of 9 checks hold: --checks.
    <BLANKLINE>
    >>> print(on_screen(Document("Bar", (folded,)), unfolded={"checks"}))
    Bar
    <BLANKLINE>
    Checks: All hold.
    <BLANKLINE>
    """
    return _Writer(width, unfolded).written(document)


def _room(block: Block) -> int:
    return block.room if isinstance(block, Sentences) else SCREEN


def _cut(blocks: Sequence[Block], kept: Mapping[int, int]) -> Iterator[Block]:
    """Yield blocks, of counted remarks as many as are kept and how many more there are."""
    for place, block in enumerate(blocks):
        if not isinstance(block, Sentences) or block.counted is None or kept[place] == len(block.items):
            yield block
            continue
        rest = len(block.items) - kept[place]
        yield Sentences(block.title, block.items[: kept[place]])
        more = "more " if kept[place] else ""
        yield Folded(_REST, f"{rest} {more}{block.counted[rest > 1]}", ())


def _without_blanks(table: Table) -> Table:
    """Return a table without rows and columns that are there to be written on: nobody writes on a screen."""
    told = [place for place, row in enumerate(table.rows) if any(cell not in (BLANK, "") for cell in row)]
    rows = tuple(table.rows[place] for place in told)
    kept = [i for i in range(len(table.header)) if any(row[i] not in (BLANK, "") for row in rows)]
    return replace(
        table,
        header=tuple(table.header[i] for i in kept),
        rows=tuple(tuple(row[i] for i in kept) for row in rows),
        numeric=frozenset(place for place, i in enumerate(kept) if i in table.numeric),
        remarks=tuple(table.remarks[place] for place in told if place < len(table.remarks)),
    )


def _unfolding(folded: Mapping[str, Sequence[str]]) -> Iterator[str]:
    """Yield what is folded and can be counted with the option that unfolds it, and how to see all of it."""
    counted = {
        name: [one for one in dict.fromkeys(said) if one[0].isdigit()] for name, said in folded.items()
    }
    yield from (f"{'; '.join(said)}: --{name}" for name, said in counted.items() if said)
    if not counted.get(_REST) and not all(counted.values()):
        yield f"more: --{_REST}"


@dataclass(frozen=True)
class _Writer:
    """Writes at a width; ``unfolded`` is None on paper, where everything stands whole, headings ruled."""

    width: int
    unfolded: Container[str] | None

    def written(self, document: Document) -> str:
        kept = {
            place: len(one.items)
            for place, one in enumerate(document.blocks)
            if isinstance(one, Sentences) and one.counted is not None
        }
        lines = self._shown(document, kept)
        for place in reversed(kept):
            while kept[place] and self._is_folded(_REST) and len(lines) > _room(document.blocks[place]):
                kept[place] -= 1
                lines = self._shown(document, kept)
        return "\n".join(lines) + "\n"

    def _shown(self, document: Document, kept: Mapping[int, int]) -> list[str]:
        """Return the lines where of the counted remarks in each place so many are kept."""
        lines = self._headed(document.title, "=")
        folded: dict[str, list[str]] = {}
        told_before = False
        for block in self._flat(_cut(document.blocks, kept)):
            if isinstance(block, Folded):
                folded.setdefault(block.name, []).append(block.line)
                continue
            told = list(self._lines(block))
            if told:
                joins = told_before and isinstance(block, Sentences) and len(block.items) == 1
                told_before = self.unfolded is not None and isinstance(block, Sentences)
                lines += told if joins or (len(lines) == 1 and isinstance(block, Table)) else ["", *told]
        if folded:
            lines += ["", *self._wrapped("", "; ".join(_unfolding(folded)) + ".")]
        if document.hint and self.unfolded is not None:
            lines += ["", *self._command(document.hint)][bool(folded) :]
        return lines

    def _command(self, hint: str) -> list[str]:
        """Return a command that can be copied as it stands: a shell reads on after a bar or a backslash."""
        pieces = [f"Next: {one_line(hint)}"]
        while len(pieces[-1]) > self.width:
            bar = pieces[-1].rfind(" | ", 0, self.width - 1)
            at = bar + 2 if bar > 0 else pieces[-1].rfind(" ", 0, self.width - 1)
            if pieces[-1][:at].strip() in ("", "Next:"):
                break
            end = "" if bar > 0 else " \\"
            pieces[-1:] = [pieces[-1][:at] + end, f"      {pieces[-1][at + 1 :]}"]
        return pieces

    def _flat(self, blocks: Iterable[Block]) -> Iterator[Block]:
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
                yield from self._headed(title) if pairs else ()
                width = max((len(name) for name, _ in pairs), default=0)
                for name, value in pairs:
                    yield from self._wrapped(f"{name:<{width}}  ", value)
            case Copy(title, text):
                yield from self._headed(title)
                yield one_line(text)
            case Table():
                table = block if self.unfolded is None else _without_blanks(block)
                if table.rows:
                    yield from self._headed(table.title)
                    yield from self._table(table)
            case Checklist(title, items):
                yield from self._headed(title) if items else ()
                for number, item in enumerate(items, 1):
                    yield from self._wrapped(f"{_BOX} {number:>2}. ", item)
            case Sentences(title, items):
                yield from self._sentences(title, items)
            case Blanks(title, names):
                yield from self._headed(title) if names else ()
                yield from (f"{name}: {_LINE}" for name in names)

    def _sentences(self, title: str, items: Sequence[str]) -> Iterator[str]:
        if title and len(items) == 1 and self.unfolded is not None:
            yield from self._wrapped("", f"{title}: {items[0]}")
        elif items:
            yield from self._headed(title)
            for item in items:
                yield from self._wrapped("- " if title or len(items) > 1 else "", item)

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
