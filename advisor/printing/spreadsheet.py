"""Writes answers and lists as CSV for spreadsheets: bare figures, units in the heading, no cell a formula."""

import re
from collections.abc import Iterable, Iterator, Mapping
from types import UnionType
from typing import Any, Union, get_args, get_origin

from pydantic import BaseModel

from advisor.printing.document import BLANK, Block, Document, Facts, Folded, Table
from advisor.tables import write_table

_FIGURE = re.compile(r"\+?(?P<number>-?[\d.]+)(?: (?P<unit>.+))?")


def as_csv(document: Document) -> str:
    """Return the first table of a document, or of its facts where it has none.

    Where all figures of a column have one unit, it goes into the heading; what is to be written on is empty.

    Examples
    --------
    >>> table = Table("", ("Material", "add"), (("Kaolin", "+1.9 g"), ("Oil", "")), numeric=frozenset({1}))
    >>> print(as_csv(Document("Bowl", (table,))))
    Material,add [g]
    Kaolin,1.9
    Oil,
    """
    blocks = list(_unfolded(document.blocks))
    facts = tuple(
        (name, *_parted(said)) for one in blocks if isinstance(one, Facts) for name, said in one.pairs
    )
    tables = [one for one in blocks if isinstance(one, Table) and one.rows]
    table = tables[0] if tables else Table("", ("what", "figure", "unit"), facts)
    columns = dict(_column(table, place) for place in range(len(table.header)))
    rows = [dict(zip(columns, row, strict=True)) for row in zip(*columns.values(), strict=True)]
    return write_table(rows, list(columns))


def _unfolded(blocks: Iterable[Block]) -> Iterator[Block]:
    for block in blocks:
        yield block
        if isinstance(block, Folded):
            yield from _unfolded(block.blocks)


def _parted(said: str) -> tuple[str, str]:
    """Return a figure and its unit, or a text and none."""
    found = _FIGURE.fullmatch(said)
    return (said, "") if found is None else (found["number"], found["unit"] or "")


def _column(table: Table, place: int) -> tuple[str, list[str]]:
    """Return a column by a name of its own, its figures without signs and units that would make them text."""
    name = table.header[place]
    if not name or table.header.count(name) > 1:
        name = f"{name or 'column'} {place + 1}"
    cells = [row[place].replace(BLANK, "") for row in table.rows]
    found = [_FIGURE.fullmatch(cell) for cell in cells] if place in table.numeric else []
    units = {one["unit"] for one in found if one is not None}
    if len(units) != 1:
        return name, cells
    unit = units.pop()
    figures = [one["number"] if one else cell for one, cell in zip(found, cells, strict=True)]
    return f"{name} [{unit}]" if unit else name, figures


def list_as_csv(shape: type[BaseModel], items: Iterable[BaseModel]) -> str:
    """Return a list of things of one shape, a row each: a column for each field, also of what lies in it.

    The columns are those of the shape, whatever is absent. A list or a mapping stands in one cell.

    Examples
    --------
    >>> from advisor.schema.recipe import GramLine
    >>> print(list_as_csv(GramLine, [GramLine(material="kaolin", grams=5)]))
    material,grams,lot
    kaolin,5.0,
    """
    return write_table([dict(_cells(item)) for item in items], list(_columns(shape)))


def _columns(shape: type[BaseModel], before: str = "") -> Iterator[str]:
    for name, field in shape.model_fields.items():
        kind = field.annotation
        kinds = get_args(kind) if get_origin(kind) in (Union, UnionType) else (kind,)
        below = [one for one in kinds if isinstance(one, type) and issubclass(one, BaseModel)]
        yield from _columns(below[0], f"{before}{name}.") if below else (before + name,)


def _cells(item: BaseModel, before: str = "") -> Iterator[tuple[str, str]]:
    for name, value in item:
        if isinstance(value, BaseModel):
            yield from _cells(value, f"{before}{name}.")
        else:
            yield before + name, _text(value)


def _text(value: Any) -> str:
    """Return a value in one cell: what a list or a mapping holds with semicolons between."""
    match value:
        case None:
            return ""
        case bool():
            return str(value).lower()
        case BaseModel():
            return " ".join(filter(None, (_text(one) for _, one in value)))
        case Mapping():
            return "; ".join(f"{key} {_text(one)}" for key, one in value.items())
        case tuple() | list():
            return "; ".join(map(_text, value))
    return str(value)
