"""Writes a page of the help, which is Markdown, as HTML."""

import re
from html import escape
from itertools import pairwise
from pathlib import Path

from markdown_it import MarkdownIt

from api.help.contents import entries

_FRAME = (Path(__file__).resolve().parent / "frame.html").read_text(encoding="utf-8")
_TO_PAGE = re.compile(r'(<a href="(?![a-z]+:)[^"#]*)\.md')


def as_page(name: str, markdown: str) -> str:
    """Return a page with the ways to all others.

    Parameters
    ----------
    name : str
        Of the page, which says how links lead from it.
    markdown : str
        Its text; HTML in it is shown, not run.

    Examples
    --------
    >>> '<h1 id="a-rack">A rack</h1>' in as_page("howto/rack", "# A rack")
    True
    """
    writer = MarkdownIt("commonmark", {"html": False}).enable("table")
    tokens = writer.parse(markdown)
    for opening, inline in pairwise(tokens):
        if opening.type == "heading_open":
            opening.attrSet("id", slug(inline.content))
    body = _TO_PAGE.sub(r"\1", writer.renderer.render(tokens, writer.options, {}))
    title = next((inline.content for inline in tokens if inline.type == "inline"), name)
    up = "../" * name.count("/")
    parts = {"title": escape(title), "up": up, "ways": _ways(name, up), "body": body}
    return re.sub(r"<!-- (\w+) -->", lambda found: parts[found[1]], _FRAME)


def slug(heading: str) -> str:
    """Return what a heading is linked by.

    Examples
    --------
    >>> slug("What it does `not` know")
    'what-it-does-not-know'
    """
    return re.sub(r"[\s-]+", "-", re.sub(r"[^\w\s-]", "", heading).strip().lower())


def _ways(name: str, up: str) -> str:
    """Return the links to every page, a list for each chapter."""
    lines, chapter = [], ""
    for one in entries():
        if one.chapter != chapter:
            lines.append(f"{'</ul>' if chapter else ''}<p>{escape(one.chapter)}</p><ul>")
            chapter = one.chapter
        here = ' aria-current="page"' if one.name == name else ""
        lines.append(f'<li><a href="{up}{one.name}"{here}>{escape(one.title)}</a></li>')
    return "\n".join([*lines, "</ul>"])
