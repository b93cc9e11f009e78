"""Says which answers are printed, and in which forms."""

from collections.abc import Callable, Mapping

from pydantic import BaseModel

from advisor.printing.document import Document
from advisor.printing.label import label_sheet
from advisor.printing.markdown import as_markdown
from advisor.printing.page import as_html
from advisor.printing.plain import as_text
from advisor.printing.record import batch_record
from advisor.printing.weigh_sheet import weigh_sheet

SHEETS: Mapping[str, Callable[..., Document]] = {
    "weigh": weigh_sheet,
    "label": label_sheet,
    "record": batch_record,
}
FORMS: Mapping[str, Callable[[Document], str]] = {
    "text": as_text,
    "markdown": as_markdown,
    "html": lambda document: as_html(document, stylesheet=None),
}


def printed(task: str, answer: BaseModel, form: str, **how: str) -> str:
    """Return the answer of a task as a form to print; a page carries its style within.

    Parameters
    ----------
    task : str
        A key of ``SHEETS``.
    answer : BaseModel
        What that task answered.
    form : str
        A key of ``FORMS``.
    how : str
        What the sheet takes besides: a weigh sheet its ``units``.

    Examples
    --------
    >>> import advisor
    >>> lines = [{"material": "kaolin", "percent": 70}, {"material": "water", "percent": 30}]
    >>> answer = advisor.label({"recipe": {"lines": lines}, "market": "eu"})
    >>> "Kaolin, Aqua" in printed("label", answer, "markdown")
    True
    """
    return FORMS[form](SHEETS[task](answer, **how))
