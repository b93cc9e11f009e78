"""The forms in which an answer is printed."""

from collections.abc import Callable, Mapping

from pydantic import BaseModel

from advisor.printing.document import Document
from advisor.printing.markdown import as_markdown
from advisor.printing.page import as_html
from advisor.printing.plain import as_text
from advisor.registry import Task

FORMS: Mapping[str, Callable[[Document], str]] = {
    "text": as_text,
    "markdown": as_markdown,
    "html": lambda document: as_html(document, stylesheet=None),
}


def printed(asked: Task, answer: BaseModel, form: str, **how: str) -> str:
    """Return the answer of a task as a form to print; a page carries its style within.

    Parameters
    ----------
    asked : Task
        One whose answer is a form.
    answer : BaseModel
        What that task answered.
    form : str
        A key of ``FORMS``.
    how : str
        What the form takes besides: a weigh sheet its ``units``.

    Examples
    --------
    >>> from advisor.registry import task
    >>> lines = [{"material": "kaolin", "percent": 70}, {"material": "water", "percent": 30}]
    >>> answer = task("label").function({"recipe": {"lines": lines}, "market": "eu"})
    >>> "Kaolin, Aqua" in printed(task("label"), answer, "markdown")
    True
    """
    return FORMS[form](asked.lay_out(answer, **how))
