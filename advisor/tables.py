"""Reads tables as people keep them and writes CSV; knows pandas."""

import csv
import io
import math
import re
from collections.abc import Mapping, Sequence
from itertools import chain
from pathlib import Path
from typing import Any, NamedTuple

from advisor.errors import Fault, InvalidRecipe, InvalidRequest, NotInstalled
from advisor.writing import Unclear, Writing

csv.field_size_limit(64 * 2**20)
_EITHER_WAY = Writing()
_NEEDED = "needs a material and a number"
_SHARES_WITHIN = 0.005
_PERCENT_WITHIN = 0.05
_HEADING_WITHIN = 10
_TOTAL = re.compile(r"(total|sum|summe|gesamt)\b", re.IGNORECASE)
_GRAMS = re.compile(r"(grams?|g|gramm|weight|oz|ounces?)\b", re.IGNORECASE)
_OUNCES = re.compile(r"(oz|ounces?)\b", re.IGNORECASE)
_WEIGHED = re.compile(r"\d\s*(g|kg|oz)$", re.IGNORECASE)
_FRACTION = re.compile(r"\d{1,3}\s*[%g]?")
_HEADINGS = {
    "recipe": re.compile(r"recipe\b", re.IGNORECASE),
    "material": re.compile(r"(material|name|ingredient|inci|rohstoff|zutat)", re.IGNORECASE),
    "amount": re.compile(
        r"(percent|%|amount|grams?\b|g$|oz\b|ounces?\b|share|weight|anteil|prozent|gramm)", re.IGNORECASE
    ),
    "lot": re.compile(r"(lot|charge|batch)\b", re.IGNORECASE),
}
_RUN = re.compile(r"""[ "]*['=+\-@\t\uff1d\uff0b\uff0d\uff20]""")
_RUN_WITHIN = re.compile(rf"[;\t\n](?={_RUN.pattern})")
_DEFUSED = re.compile(r"(^|[;\t\n])'")
_NUMBER = re.compile(r"-?[0-9]+(\.[0-9]+)?([eE][+-]?[0-9]+)?")


def read_recipe(
    data: bytes, title: str, source: str, writing: Writing = _EITHER_WAY
) -> tuple[dict[str, Any], list[str]]:
    """Read a recipe from a table as people keep it, and say what was made of it.

    CSV and its kin (UTF-8, UTF-16 or Latin-1; commas, semicolons, tabs; decimal commas), xlsx and ods. A
    heading names the columns, or there are two; empty rows and a row of the total are left out.

    Returns
    -------
    recipe : dict
        As a request carries it.
    notes : list of str
        What was left out or understood.

    Raises
    ------
    InvalidRecipe
        It is no table, a column is missing, or an amount is no number; the line is named.

    Examples
    --------
    >>> read_recipe(b"Kaolin;62,5 %\\nBetaine 30;37,5 %\\nTotal;100", "bar", "bar.csv")[1]
    ['Line 3 is a total and was left out.']
    """
    columns, rows = _columns(_rows(data, source), source, ("material",))
    amounts = _amounts([row["amount"] for _, row in rows], columns, writing)
    lines: list[dict[str, Any]] = []
    faults, notes = [], []
    for (number, row), amount in zip(rows, amounts, strict=True):
        name = row["material"]
        if _TOTAL.match(name):
            notes.append(f"Line {number} is a total and was left out.")
        elif not name or not isinstance(amount, float):
            faults.append(Fault(f"line {number}", amount if isinstance(amount, str) else _NEEDED))
        else:
            lines.append({"material": name, columns.unit: amount, **_lot(row)})
    if faults:
        raise InvalidRecipe(f"{source} has lines that cannot be read.", faults)
    total = sum(line[columns.unit] for line in lines)
    if columns.unit == "percent" and abs(total - 1) <= _SHARES_WITHIN:
        for line in lines:
            line["percent"] = round(100 * line["percent"], 6)
        notes.append("The amounts add up to 1 and were read as shares of the whole.")
    elif columns.unit == "percent" and abs(total - 100) > _PERCENT_WITHIN:
        notes.append(f"The percents add up to {total:g}: --normalise makes them 100.")
    return {"name": title, "lines": lines}, notes


def read_recipe_tables(path: Path, writing: Writing = _EITHER_WAY) -> list[dict[str, Any]]:
    """Read many recipes from a table: ``recipe``, ``material``, ``percent`` or ``grams``, and ``lot`` if any.

    A recipe's lines need not stand together; a cell without a recipe belongs to the recipe above it. A line
    that cannot be read is left for its recipe to be refused.

    Returns
    -------
    list of dict
        Recipes as a request carries them, in the order they begin.

    Raises
    ------
    InvalidRecipe
        The file is no table, or a column is missing.
    """
    try:
        data = path.read_bytes()
    except OSError as error:
        raise InvalidRecipe(f"{path.name} cannot be read: {error.strerror}.") from error
    return recipes_of(_rows(data, path.name), path.name, writing)


def recipes_of(cells: list[list[str]], source: str, writing: Writing = _EITHER_WAY) -> list[dict[str, Any]]:
    """Return the recipes of the cells of a table, a heading above them.

    Raises
    ------
    InvalidRecipe
        A column is missing.
    """
    columns, rows = _columns(cells, source, ("recipe", "material"))
    recipes: dict[str, list[dict[str, Any]]] = {}
    above = ""
    amounts = _amounts([row["amount"] for _, row in rows], columns, writing)
    for (_, row), value in zip(rows, amounts, strict=True):
        above = row["recipe"] or above
        told = value if isinstance(value, float) else row["amount"] or None
        line = {"material": row["material"], columns.unit: told, **_lot(row)}
        recipes.setdefault(above, []).append(line)
    return [{"name": name, "lines": lines} for name, lines in recipes.items()]


class _Columns(NamedTuple):
    """Which column of a table holds what, and the unit of its amounts."""

    places: dict[str, int]
    unit: str
    ounces: bool = False


def _rows(data: bytes, source: str) -> list[list[str]]:
    """Return the cells of a table as text.

    Raises
    ------
    InvalidRecipe, NotInstalled
    """
    if data[:2] == b"PK":
        return _spreadsheet(data, source)
    text = _decoded(data)
    if "\0" in text or not text.strip():
        raise InvalidRecipe(f"{source} is not a table.")
    first, _, rest = text.lstrip().partition("\n")
    named = re.fullmatch(r"sep=(.)\s*", first, re.IGNORECASE)
    text = rest if named else text
    head = text.splitlines()[:_HEADING_WITHIN]
    separator = named[1] if named else next((sign for sign in ";\t" if sign in "".join(head)), ",")
    try:
        parted = csv.reader(io.StringIO(text), delimiter=separator)
        rows = [[_armed(cell.strip()) for cell in row] for row in parted]
    except csv.Error as error:
        raise InvalidRecipe(f"{source} is not a table: {error}.") from error
    return [_joined(row) for row in rows] if separator == "," else rows


def _joined(row: list[str]) -> list[str]:
    """Return a row in which a decimal comma between commas did not part a number."""
    for place in range(1, len(row) - 1):
        if row[place].isdecimal() and _FRACTION.fullmatch(row[place + 1]):
            return [*row[:place], f"{row[place]},{row[place + 1]}", *row[place + 2 :]]
    return row


def _decoded(data: bytes) -> str:
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return data.decode("utf-16", errors="replace")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("latin-1")


def _spreadsheet(data: bytes, source: str) -> list[list[str]]:
    try:
        import pandas as pd

        frame = pd.read_excel(io.BytesIO(data), header=None, engine="calamine", dtype=object)
    except ImportError as error:
        raise NotInstalled(
            "Spreadsheets need python-calamine: pip install python-calamine, or save it as CSV."
        ) from error
    except Exception as error:
        raise InvalidRecipe(f"{source} is not a spreadsheet that can be read.") from error
    return [
        ["" if pd.isna(cell) else f"{cell}".strip() for cell in row] for row in frame.itertuples(index=False)
    ]


def _columns(
    rows: list[list[str]], source: str, needed: Sequence[str]
) -> tuple[_Columns, list[tuple[int, dict[str, str]]]]:
    """Return what the columns are, and each row with its line; rows without anything are left out.

    Raises
    ------
    InvalidRecipe
    """
    numbered = [(number, row) for number, row in enumerate(rows, start=1) if any(row)]
    columns, start = _UNHEADED, 0
    for place, (_, row) in enumerate(numbered[:_HEADING_WITHIN]):
        found = _heading(row)
        if set(needed) <= found.places.keys() and "amount" in found.places:
            columns, start = found, place + 1
            break
    else:
        first = (*numbered[0][1], "", "")[1] if numbered else ""
        if len(needed) > 1 or (_number(first) is None and not _WEIGHED.search(first)):
            raise InvalidRecipe(f"{source} needs the columns {', '.join(needed)} and percent (or grams).")
        if all(_WEIGHED.search(row[1]) for _, row in numbered if len(row) > 1):
            columns = _UNHEADED._replace(unit="grams")
    told = []
    for number, row in numbered[start:]:
        cells = {name: row[at] if at < len(row) else "" for name, at in columns.places.items()}
        if cells["material"] or cells["amount"]:
            told.append((number, cells))
    return columns, told


_UNHEADED = _Columns({"material": 0, "amount": 1}, "percent")


def _heading(row: Sequence[str]) -> _Columns:
    places: dict[str, int] = {}
    unit, ounces = "percent", False
    for at, cell in enumerate(row):
        for name, pattern in _HEADINGS.items():
            if name not in places and pattern.match(cell):
                places[name] = at
                if name == "amount" and _GRAMS.match(cell):
                    unit, ounces = "grams", bool(_OUNCES.match(cell))
                break
    return _Columns(places, unit, ounces)


def _amounts(cells: list[str], columns: _Columns, writing: Writing) -> list[float | str | None]:
    """Return the amounts of a column; of a weight that is unclear what is to be asked, None for no number.

    A percent has no thousands. Whether a weight has is told by the other cells, else by the settings.
    """
    if columns.unit == "percent":
        return [_number(cell) for cell in cells]
    known = writing.among(cells)

    def weight(cell: str) -> float | str | None:
        try:
            return known.grams(f"{cell} oz" if columns.ounces and not cell[-1:].isalpha() else cell)
        except Unclear as unclear:
            return str(unclear) if re.search(r"\d", cell) else None

    return [weight(cell) for cell in cells]


def _lot(row: Mapping[str, str]) -> dict[str, str]:
    """Return the lot of a line as a field of it, none where no lot is written."""
    return {"lot": row["lot"]} if row.get("lot") else {}


def _number(cell: str) -> float | None:
    """Return an amount as people write it; None for what is no number.

    Examples
    --------
    >>> [_number(cell) for cell in ("12,5 %", "1.250,5", "1'250.5 g", "much")]
    [12.5, 1250.5, 1250.5, None]
    """
    text = re.sub(r"[\s\u00a0'\u2019%]|g$", "", cell, flags=re.IGNORECASE)
    last = max(text.rfind(","), text.rfind("."))
    if text.count(",") == 1 and "." not in text:
        text = text.replace(",", ".")
    elif last >= 0:
        text = re.sub(r"[.,]", "", text[:last]) + "." + text[last + 1 :] if "," in text else text
    return float(text) if _NUMBER.fullmatch(text) and math.isfinite(float(text)) else None


def write_table(rows: Sequence[Mapping[str, str]], columns: Sequence[str], *, header: bool = True) -> str:
    """Return rows as CSV (RFC 4180); no cell is run by a spreadsheet as a formula.

    Not by one either that takes semicolons or tabs for what parts cells. ``read_table`` gives back what was
    written.

    Examples
    --------
    >>> print(write_table([{"name": "=1+1", "grams": "5"}], ["name", "grams"]))
    name,grams
    '=1+1,5
    """
    written = io.StringIO(newline="")
    told = ([defused(row.get(name, "")) for name in columns] for row in rows)
    csv.writer(written, lineterminator="\n").writerows(chain([columns] if header else [], told))
    return written.getvalue()


def read_table(text: str, columns: Mapping[str, bool]) -> list[dict[str, str]]:
    """Return the rows of a CSV that ``write_table`` made, absent cells left out.

    Parameters
    ----------
    text : str
    columns : mapping
        The columns it may have, each once, and whether it must have them.

    Raises
    ------
    InvalidRequest
        It is no table, its columns are others, or a row has more or fewer cells than the header.

    Examples
    --------
    >>> read_table("name,grams\\n'=1+1,\\n", {"name": True, "grams": False})
    [{'name': '=1+1'}]
    """
    try:
        header, *rows = [row for row in csv.reader(io.StringIO(text, newline=""), strict=True) if row]
    except (csv.Error, ValueError) as error:
        raise InvalidRequest(f"It is not a table: {error}.") from error
    strange = [name for name in header if name not in columns or header.count(name) > 1]
    missing = [name for name, needed in columns.items() if needed and name not in header]
    uneven = [place for place, row in enumerate(rows, 2) if len(row) != len(header)]
    if strange:
        raise InvalidRequest(f"The header of the table has a column {strange[0]!r} that is not known here.")
    if missing:
        raise InvalidRequest(f"The header of the table lacks the column {missing[0]!r}.")
    if uneven:
        raise InvalidRequest(f"Row {uneven[0]} of the table has more or fewer cells than its header.")
    return [
        {name: _armed(cell) for name, cell in zip(header, row, strict=True) if cell != ""} for row in rows
    ]


def defused(cell: str) -> str:
    """Return a cell with an apostrophe before what a spreadsheet might run, wherever it splits the cell."""
    cell = cell.replace("\r\n", "\n").replace("\r", "\n")
    if _NUMBER.fullmatch(cell):
        return cell
    begun = f"'{cell}" if _RUN.match(cell) else cell
    return _RUN_WITHIN.sub(lambda parting: f"{parting[0]}'", begun)


def _armed(cell: str) -> str:
    return _DEFUSED.sub(r"\1", cell)
