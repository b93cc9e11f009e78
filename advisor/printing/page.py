"""The one place that writes a document as an HTML page to print.

The page carries no script and no style of its own: it links one stylesheet, so that it may be served under
``style-src 'self'``, and it reads and prints well without it.
"""

from collections.abc import Iterator
from html import escape
from typing import Literal

from advisor.printing.document import Blanks, Block, Checklist, Document, Facts, Sentences, Table

STYLESHEET = "/static/styles/print.css"
_BOX = '<span class="tick">\u2610</span>'


def as_html(document: Document, *, stylesheet: str = STYLESHEET) -> str:
    """Return a document as a whole HTML page in UTF-8.

    Parameters
    ----------
    document : Document
    stylesheet : str
        Address of the stylesheet, as seen from the page.

    Examples
    --------
    >>> print(as_html(Document("Sheet", (Checklist("To do", ("Stir & knead.",)),))))
    <!doctype html>
    ...
    <h1>Sheet</h1>
    <section>
    <h2>To do</h2>
    <ol class="checklist">
    <li><span class="tick">...</span> Stir &amp; knead.</li>
    </ol>
    </section>
    </main>
    </body>
    </html>
    """
    lines = [
        "<!doctype html>",
        '<html lang="en">',
        "<head>",
        '<meta charset="utf-8">',
        '<meta name="viewport" content="width=device-width, initial-scale=1">',
        f"<title>{escape(document.title)}</title>",
        f'<link rel="stylesheet" href="{escape(stylesheet)}">',
        "</head>",
        "<body>",
        "<main>",
        f"<h1>{escape(document.title)}</h1>",
    ]
    for block in document.blocks:
        lines += _lines(block)
    return "\n".join([*lines, "</main>", "</body>", "</html>"]) + "\n"


def _lines(block: Block) -> Iterator[str]:
    match block:
        case Facts(pairs):
            if pairs:
                yield "<dl>"
                for name, value in pairs:
                    yield f"<div><dt>{escape(name)}</dt><dd>{escape(value)}</dd></div>"
                yield "</dl>"
        case Table():
            if block.rows:
                yield from _section(block.title, _table(block))
        case Checklist(title, items):
            yield from _list("ol", "checklist", title, tuple(f"{_BOX} {escape(item)}" for item in items))
        case Sentences(title, items):
            yield from _list("ul", "remarks", title, tuple(escape(item) for item in items))
        case Blanks(title, names):
            blanks = tuple(f'{escape(name)}: <span class="blank">{"_" * 24}</span>' for name in names)
            yield from _list("ul", "blanks", title, blanks)


def _section(title: str, body: Iterator[str]) -> Iterator[str]:
    yield "<section>"
    yield f"<h2>{escape(title)}</h2>"
    yield from body
    yield "</section>"


def _list(tag: str, kind: str, title: str, items: tuple[str, ...]) -> Iterator[str]:
    if items:
        body = (f'<{tag} class="{kind}">', *(f"<li>{item}</li>" for item in items), f"</{tag}>")
        yield from _section(title, iter(body))


def _table(table: Table) -> Iterator[str]:
    yield "<table>"
    box = '<th scope="col"></th>' if table.ticks else ""
    yield f"<thead><tr>{box}{_cells(table, table.header, 'th')}</tr></thead>"
    yield "<tbody>"
    for i, row in enumerate(table.rows):
        box = f"<td>{_BOX}</td>" if table.ticks else ""
        yield f"<tr>{box}{_cells(table, row, 'td')}</tr>"
        if i < len(table.remarks) and table.remarks[i]:
            wide = len(row) + bool(table.ticks)
            yield f'<tr class="remark"><td colspan="{wide}">{escape(table.remarks[i])}</td></tr>'
    yield "</tbody>"
    yield "</table>"


def _cells(table: Table, cells: tuple[str, ...], tag: Literal["th", "td"]) -> str:
    scope = ' scope="col"' if tag == "th" else ""
    kinds = (' class="number"' if i in table.numeric else "" for i in range(len(cells)))
    return "".join(
        f"<{tag}{scope}{kind}>{escape(cell)}</{tag}>" for kind, cell in zip(kinds, cells, strict=True)
    )
