"""Reads and writes CSV tables, and the only one that knows pandas."""

import csv
import io
import math
import re
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import pandas as pd

from advisor.errors import Fault, InvalidRecipe, InvalidRequest

csv.field_size_limit(64 * 2**20)
_UNITS = ("percent", "grams")
_RUN = ("=", "+", "-", "@", "\t", "\r", "'")
_NUMBER = re.compile(r"-?[0-9]+(\.[0-9]+)?([eE][+-]?[0-9]+)?")


def read_recipe_table(path: Path) -> dict[str, Any]:
    """Read a recipe from a CSV file with the columns ``material`` and ``percent`` or ``grams``, and ``lot``.

    Commas, semicolons and tabs separate; a decimal comma is understood where commas do not separate.

    Returns
    -------
    dict
        A recipe as a request carries it, named after the file.

    Raises
    ------
    InvalidRecipe
        The file is no UTF-8 table, a column is missing, or an amount is no number; the line is named.
    """
    frame, unit, decimal_comma = _frame(path, ["material"])
    lines = []
    faults = []
    cells = zip(frame["material"], frame[unit], _lots(frame), strict=True)
    for number, (material, amount, lot) in enumerate(cells, start=2):
        if pd.isna(material) and pd.isna(amount):
            continue
        value = _number(amount, decimal_comma=decimal_comma)
        if pd.isna(material) or value is None:
            faults.append(Fault(f"line {number}", "needs a material and a number"))
        else:
            lines.append({"material": str(material).strip(), unit: value, **lot})
    if faults:
        raise InvalidRecipe(f"{path.name} has lines that cannot be read.", faults)
    return {"name": path.stem, "lines": lines}


def read_recipe_tables(path: Path) -> list[dict[str, Any]]:
    """Read many recipes from CSV: ``recipe``, ``material``, ``percent`` or ``grams``, and ``lot`` if any.

    A recipe's lines need not stand together; a cell without a recipe belongs to the recipe above it. A line
    that cannot be read is left for its recipe to be refused.

    Returns
    -------
    list of dict
        Recipes as a request carries them, in the order they begin.

    Raises
    ------
    InvalidRecipe
        The file is no UTF-8 table, or a column is missing.
    """
    frame, unit, decimal_comma = _frame(path, ["recipe", "material"])
    names = frame["recipe"].str.strip()
    names = names.mask(names == "").ffill().fillna("")
    recipes: dict[str, list[dict[str, Any]]] = {}
    for name, material, amount, lot in zip(names, frame["material"], frame[unit], _lots(frame), strict=True):
        if pd.isna(material) and pd.isna(amount):
            continue
        value = _number(amount, decimal_comma=decimal_comma)
        told = None if pd.isna(amount) else str(amount)
        line = {
            "material": "" if pd.isna(material) else str(material).strip(),
            unit: told if value is None else value,
            **lot,
        }
        recipes.setdefault(str(name), []).append(line)
    return [{"name": name, "lines": lines} for name, lines in recipes.items()]


def _frame(path: Path, needed: Sequence[str]) -> tuple[pd.DataFrame, str, bool]:
    """Return a table of text, the unit of its amounts, and whether commas are decimal.

    Raises
    ------
    InvalidRecipe
    """
    try:
        text = path.read_text(encoding="utf-8-sig")
    except OSError as error:
        raise InvalidRecipe(f"{path.name} cannot be read: {error.strerror}.") from error
    except UnicodeDecodeError as error:
        raise InvalidRecipe(f"{path.name} is not UTF-8 text.") from error
    header = text.lstrip().partition("\n")[0]
    separator = next((sign for sign in (";", "\t") if sign in header), ",")
    try:
        frame = pd.read_csv(
            io.StringIO(text), sep=separator, dtype=str, keep_default_na=False, na_values=[""]
        )
    except (pd.errors.ParserError, pd.errors.EmptyDataError) as error:
        raise InvalidRecipe(f"{path.name} is not a table: {error}.") from error
    frame.columns = frame.columns.str.strip().str.casefold()
    unit = next((name for name in _UNITS if name in frame.columns), None)
    if unit is None or not set(needed) <= set(frame.columns):
        raise InvalidRecipe(f"{path.name} needs the columns {', '.join(needed)} and percent (or grams).")
    return frame, unit, separator != ","


def _lots(frame: pd.DataFrame) -> list[dict[str, str]]:
    """Return the lot of each line as a field of it, none where no lot is written."""
    if "lot" not in frame.columns:
        return [{}] * len(frame)
    return [{} if pd.isna(lot) or not lot.strip() else {"lot": lot.strip()} for lot in frame["lot"]]


def _number(cell: Any, *, decimal_comma: bool) -> float | None:
    if pd.isna(cell):
        return None
    text = str(cell).strip().removesuffix("%").removesuffix("g").strip()
    try:
        value = float(text.replace(",", ".") if decimal_comma else text)
    except ValueError:
        return None
    return value if math.isfinite(value) else None


def write_table(rows: Sequence[Mapping[str, str]], columns: Sequence[str], *, header: bool = True) -> str:
    """Return rows as CSV (RFC 4180); no cell is run by a spreadsheet as a formula.

    Examples
    --------
    >>> print(write_table([{"name": "=1+1", "grams": "5"}], ["name", "grams"]))
    name,grams
    '=1+1,5
    """
    frame = pd.DataFrame(
        [[_defused(row.get(name, "")) for name in columns] for row in rows], columns=list(columns)
    )
    return str(frame.to_csv(index=False, lineterminator="\n", header=header))


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


def _defused(cell: str) -> str:
    cell = cell.replace("\r\n", "\n").replace("\r", "\n")
    return f"'{cell}" if cell.startswith(_RUN) and not _NUMBER.fullmatch(cell) else cell


def _armed(cell: str) -> str:
    return cell[1:] if cell.startswith("'") else cell
