"""What pages the help has, in their order, and the text of each."""

import re
from collections.abc import Mapping
from functools import lru_cache
from pathlib import Path
from typing import Any, NamedTuple

from api.help import reference

PAGES = Path(__file__).resolve().parent / "pages"
_CHAPTER = re.compile(r"^## (.+)$|^- \[(.+?)\]\((.+?)\.md\)", re.MULTILINE)


class Entry(NamedTuple):
    """A page as the contents name it: its chapter, its title and its name."""

    chapter: str
    title: str
    name: str


@lru_cache(maxsize=1)
def entries() -> tuple[Entry, ...]:
    """Return every page in the order of the contents, which are the links of the first page.

    Examples
    --------
    >>> entries()[0]
    Entry(chapter='Learn', title='Your first failed dough', name='tutorial')
    """
    found, chapter = [], ""
    for heading, title, name in _CHAPTER.findall(_written("index")):
        chapter = heading or chapter
        if name:
            found.append(Entry(chapter, title, name))
    return tuple(found)


def text(name: str, described: Mapping[str, Any]) -> str:
    """Return a page as Markdown.

    Parameters
    ----------
    name : str
        As the contents name it, or ``index``.
    described : mapping
        The description of the API, which one of the references is made from.
    """
    return reference.made(name, described) if name in reference.MADE else _written(name)


def _written(name: str) -> str:
    return (PAGES / f"{name}.md").read_text(encoding="utf-8")
