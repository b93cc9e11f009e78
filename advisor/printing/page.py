"""Writes a document as an HTML page to print.

The page carries no script. Served, it links its style, so that it may stand under ``style-src 'self'``;
opened from a file, it carries it.
"""

from collections.abc import Iterable, Iterator
from html import escape
from importlib.resources import files
from typing import Literal

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

STYLESHEET = "/static/styles/paper.css"
_BOX = '<span class="tick">\u2610</span>'
_NARROW, _SHORT = 4, 72


def style() -> str:
    """Return the stylesheet of the pages, for screen and paper.

    Examples
    --------
    >>> "@page" in style()
    True
    """
    return files("advisor.printing").joinpath("paper.css").read_text(encoding="utf-8")


def as_html(document: Document, *, stylesheet: str | None = STYLESHEET) -> str:
    """Return a document as a whole HTML page, to be sent or written in UTF-8.

    Parameters
    ----------
    document : Document
    stylesheet : str, optional
        Address of the stylesheet as seen from the page; None puts the style into the page.

    Examples
    --------
    >>> print(as_html(Document("Sheet", (Checklist("To do", ("Stir & knead.",)),))))
    <!doctype html>
    ...
    <h1>Sheet</h1>
    <section>
    <h2>To do</h2>
    <ol class="checklist short">
    <li><span class="tick">...</span><span>Stir &amp; knead.</span></li>
    </ol>
    </section>
    </main>
    </body>
    </html>
    """
    styled = (
        f"<style>\n{style()}</style>"
        if stylesheet is None
        else f'<link rel="stylesheet" href="{escape(stylesheet)}">'
    )
    lines = [
        "<!doctype html>",
        '<html lang="en">',
        "<head>",
        '<meta charset="utf-8">',
        '<meta name="viewport" content="width=device-width, initial-scale=1">',
        f"<title>{_text(document.title)}</title>",
        styled,
        "</head>",
        "<body>",
        "<main>",
        f"<h1>{_text(document.title)}</h1>",
    ]
    for block in document.blocks:
        lines += _lines(block)
    return "\n".join([*lines, "</main>", "</body>", "</html>"]) + "\n"


def _lines(block: Block) -> Iterator[str]:
    match block:
        case Facts(pairs, title):
            if pairs:
                yield from _section(title, _facts(pairs), half=True) if title else _facts(pairs)
        case Copy(title, text):
            yield from _section(title, (f'<p class="copy">{_text(text)}</p>',))
        case Table():
            if block.rows:
                yield from _section(block.title, _table(block), half=len(block.header) <= _NARROW)
        case Checklist(title, items):
            told = tuple(f"{_BOX}<span>{_text(item)}</span>" for item in items)
            short = all(len(item) <= _SHORT for item in items)
            yield from _list("ol", "checklist short" if short else "checklist", title, told)
        case Sentences(title, items):
            yield from _list("ul", "remarks", title, tuple(map(_text, items)))
        case Blanks(title, names):
            yield from _list("ul", "blanks", title, tuple(f"{_text(name)}: {_text(BLANK)}" for name in names))
        case Folded(blocks=blocks):
            for inner in blocks:
                yield from _lines(inner)


def _text(text: str) -> str:
    """Return a text as a page shows it; a blank is a line to write on."""
    return f'<span class="blank">{BLANK}</span>' if text == BLANK else escape(one_line(text))


def _facts(pairs: tuple[tuple[str, str], ...]) -> Iterator[str]:
    yield "<dl>"
    for name, value in pairs:
        yield f"<div><dt>{_text(name)}</dt><dd>{_text(value)}</dd></div>"
    yield "</dl>"


def _section(title: str, body: Iterable[str], *, half: bool = False) -> Iterator[str]:
    yield '<section class="half">' if half else "<section>"
    if title:
        yield f"<h2>{_text(title)}</h2>"
    yield from body
    yield "</section>"


def _list(tag: str, kind: str, title: str, items: tuple[str, ...]) -> Iterator[str]:
    if items:
        body = (f'<{tag} class="{kind}">', *(f"<li>{item}</li>" for item in items), f"</{tag}>")
        yield from _section(title, body)


def _table(table: Table) -> Iterator[str]:
    yield "<table>"
    box = '<th scope="col"><span class="tick">\u2713</span></th>' if table.ticks else ""
    yield f"<thead><tr>{box}{_cells(table, table.header, 'th')}</tr></thead>"
    yield "<tbody>"
    for i, row in enumerate(table.rows):
        box = f"<td>{_BOX}</td>" if table.ticks else ""
        yield f"<tr>{box}{_cells(table, row, 'td')}</tr>"
        if i < len(table.remarks) and table.remarks[i]:
            wide = len(row) + bool(table.ticks)
            yield f'<tr class="remark"><td colspan="{wide}">{_text(table.remarks[i])}</td></tr>'
    yield "</tbody>"
    yield "</table>"


def _cells(table: Table, cells: tuple[str, ...], tag: Literal["th", "td"]) -> str:
    scope = ' scope="col"' if tag == "th" else ""
    kinds = (' class="number"' if i in table.numeric else "" for i in range(len(cells)))
    return "".join(
        f"<{tag}{scope}{kind}>{_text(cell)}</{tag}>" for kind, cell in zip(kinds, cells, strict=True)
    )
