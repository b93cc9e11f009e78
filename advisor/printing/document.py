"""What an answer or a form is made of, before it is text, Markdown or a page."""

import re
from collections.abc import Iterable
from enum import IntEnum

from advisor.frozen import dataclass

BLANK = "________"
SCREEN = 24
TWO_SCREENS = 45
_CONTROL = re.compile(r"[\x00-\x1f\x7f-\x9f]")


def one_line(text: str) -> str:
    """Return a text without line breaks and control characters, as every writer sets it.

    Examples
    --------
    >>> one_line("River\\n\\x1b bar ")
    'River bar'
    """
    return " ".join(_CONTROL.sub(" ", text).split())


@dataclass(frozen=True, slots=True)
class Facts:
    """Names with their values; a value of ``BLANK`` is a line to write on."""

    pairs: tuple[tuple[str, str], ...]
    title: str = ""


@dataclass(frozen=True, slots=True)
class Copy:
    """A text to be copied as it stands, in one piece."""

    title: str
    text: str


@dataclass(frozen=True, slots=True)
class Table:
    """A table; ``numeric`` are the columns set flush right, ``ticks`` asks for a box to tick in each row.

    A cell of ``BLANK`` is to be written on. ``remarks`` holds for each row a sentence that stands below it,
    empty for none.
    """

    title: str
    header: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    numeric: frozenset[int] = frozenset()
    ticks: bool = False
    remarks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Checklist:
    """Things to do in order, each with a box to tick."""

    title: str
    items: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Sentences:
    """Remarks without an order.

    Where they are ``counted`` a screen whose answer is longer than ``room`` lines shows fewer of them and
    counts the rest by these words, for one and for more.
    """

    title: str
    items: tuple[str, ...]
    counted: tuple[str, str] | None = None
    room: int = SCREEN


@dataclass(frozen=True, slots=True)
class Blanks:
    """Names with a line to write on."""

    title: str
    names: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Folded:
    """What a screen shows in one line until it is asked for by its name; on paper it stands whole."""

    name: str
    line: str
    blocks: tuple["Block", ...]


Block = Facts | Copy | Table | Checklist | Sentences | Blanks | Folded


class Rank(IntEnum):
    """Where a part of an answer stands: what to do comes first, what only some want to see last."""

    NOW = 1
    FIGURES = 2
    REASONS = 3
    WATCH = 4
    OPEN = 5
    FOLDED = 6


@dataclass(frozen=True, slots=True)
class Document:
    """A form or an answer: its title and what follows; ``hint`` is the next thing worth typing."""

    title: str
    blocks: tuple[Block, ...]
    hint: str = ""


def ranked(title: str, parts: Iterable[tuple[Rank, Block]], hint: str = "") -> Document:
    """Return an answer, its parts in the order of their ranks.

    Examples
    --------
    >>> parts = [(Rank.OPEN, Sentences("Open", ("How?",))), (Rank.NOW, Sentences("Now", ("Wait.",)))]
    >>> [block.title for block in ranked("Bar", parts).blocks]
    ['Now', 'Open']
    """
    return Document(title, tuple(block for _, block in sorted(parts, key=lambda part: part[0])), hint)
