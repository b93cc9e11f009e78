"""The one place of what a printed form is made of, before it is text, Markdown or a page."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Facts:
    """Names with their values."""

    pairs: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Table:
    """A table; ``numeric`` are the columns set flush right, ``ticks`` asks for a box to tick in each row.

    ``remarks`` holds for each row a sentence that stands below it, empty for none.
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
    """Remarks without an order."""

    title: str
    items: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Blanks:
    """Names with a line to write on."""

    title: str
    names: tuple[str, ...]


Block = Facts | Table | Checklist | Sentences | Blanks


@dataclass(frozen=True, slots=True)
class Document:
    """A form: its title and what follows."""

    title: str
    blocks: tuple[Block, ...]
