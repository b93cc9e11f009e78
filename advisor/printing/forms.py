"""The forms in which a document is printed."""

from collections.abc import Callable, Mapping

from advisor.printing.document import Document
from advisor.printing.markdown import as_markdown
from advisor.printing.page import as_html
from advisor.printing.plain import as_text

FORMS: Mapping[str, Callable[[Document], str]] = {
    "text": as_text,
    "markdown": as_markdown,
    "html": lambda document: as_html(document, stylesheet=None),
}
