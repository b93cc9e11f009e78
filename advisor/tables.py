"""The one place that reads and writes CSV tables, and the only one that knows pandas."""

import io
import math
from pathlib import Path
from typing import Any

import pandas as pd

from advisor.errors import Fault, InvalidRecipe

_UNITS = ("percent", "grams")


def read_recipe_table(path: Path) -> dict[str, Any]:
    """Read a recipe from a CSV file with the columns ``material`` and ``percent`` or ``grams``.

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
    try:
        text = path.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError as error:
        raise InvalidRecipe(f"{path.name} is not UTF-8 text.") from error
    header = text.lstrip().partition("\n")[0]
    separator = next((sign for sign in (";", "\t") if sign in header), ",")
    try:
        frame = pd.read_csv(io.StringIO(text), sep=separator, dtype=str, skip_blank_lines=True)
    except (pd.errors.ParserError, pd.errors.EmptyDataError) as error:
        raise InvalidRecipe(f"{path.name} is not a table: {error}.") from error
    frame.columns = frame.columns.str.strip().str.casefold()
    unit = next((name for name in _UNITS if name in frame.columns), None)
    if "material" not in frame.columns or unit is None:
        raise InvalidRecipe(f"{path.name} needs the columns material and percent (or grams).")
    lines = []
    faults = []
    for number, (material, amount) in enumerate(zip(frame["material"], frame[unit], strict=True), start=2):
        if pd.isna(material) and pd.isna(amount):
            continue
        value = _number(amount, decimal_comma=separator != ",")
        if pd.isna(material) or value is None:
            faults.append(Fault(f"line {number}", "needs a material and a number"))
        else:
            lines.append({"material": str(material).strip(), unit: value})
    if faults:
        raise InvalidRecipe(f"{path.name} has lines that cannot be read.", faults)
    return {"name": path.stem, "lines": lines}


def _number(cell: Any, *, decimal_comma: bool) -> float | None:
    if pd.isna(cell):
        return None
    text = str(cell).strip().removesuffix("%").removesuffix("g").strip()
    try:
        value = float(text.replace(",", ".") if decimal_comma else text)
    except ValueError:
        return None
    return value if math.isfinite(value) else None
