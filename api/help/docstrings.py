"""Writes a docstring in numpydoc's style as Markdown."""

import re
from collections.abc import Iterator

_SECTION = re.compile(r"^(\w[\w ]*)\n-{3,}\n", re.MULTILINE)
_ENTRY = re.compile(r"^(\S.*)((?:\n+ {4}.*)*)", re.MULTILINE)


def as_markdown(docstring: str) -> str:
    """Return a docstring as Markdown: entries as a list, examples as code.

    Parameters
    ----------
    docstring : str
        As ``inspect.getdoc`` returns it.

    Examples
    --------
    >>> print(as_markdown("Weigh.\\n\\nParameters\\n----------\\ngrams : float\\n    How ``much``."))
    Weigh.
    <BLANKLINE>
    **Parameters**
    <BLANKLINE>
    - `grams : float` How `much`.
    """
    lead, *sections = _SECTION.split(docstring.replace("``", "`"))
    parts = [lead.strip()]
    for title, text in zip(sections[::2], sections[1::2], strict=True):
        parts += [f"**{title}**", "\n".join(_body(title, text.strip()))]
    return "\n\n".join(parts)


def _body(title: str, text: str) -> Iterator[str]:
    if title == "Examples":
        yield f"```python\n{text}\n```"
    elif title in ("Notes", "References"):
        yield text
    else:
        for name, about in _ENTRY.findall(text):
            yield f"- `{name}` {' '.join(about.split())}".rstrip()
