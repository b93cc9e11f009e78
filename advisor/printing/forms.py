"""The forms in which an answer is printed, by name and media type."""

from collections.abc import Mapping

from advisor.printing.document import Document
from advisor.printing.markdown import as_markdown
from advisor.printing.page import as_html
from advisor.printing.plain import as_text

CSV = "text/csv"
FORMS: Mapping[str, str] = {
    "text": "text/plain",
    "markdown": "text/markdown",
    "html": "text/html",
    "csv": CSV,
}


def printed(document: Document, media: str, stylesheet: str | None = None) -> str:
    """Return a document as a form to print, or its table for a spreadsheet.

    Parameters
    ----------
    document : Document
    media : str
        A value of ``FORMS``.
    stylesheet : str, optional
        Address of a page's stylesheet; None puts the style into the page.

    Examples
    --------
    >>> printed(Document("Sheet", ()), FORMS["markdown"])
    '# Sheet\\n'
    """
    if media == CSV:
        from advisor.printing.spreadsheet import as_csv

        return as_csv(document)
    if media == "text/html":
        return as_html(document, stylesheet=stylesheet)
    return as_markdown(document) if media == "text/markdown" else as_text(document)
