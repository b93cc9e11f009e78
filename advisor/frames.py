"""DataFrames in and out: answers, lists and recipes; knows pandas."""

from collections.abc import Iterable, Mapping
from html import escape
from pathlib import Path
from typing import Any

import pandas as pd

from advisor.errors import InvalidRequest, NotInstalled
from advisor.tables import defused, recipes_of


def as_frame(items: Any, part: str = "") -> pd.DataFrame:
    """Return an answer, or any list of things, as a DataFrame: a row a thing, inner fields joined by dots.

    Parameters
    ----------
    items : answer, mapping, or iterable of such
        As tasks, notebooks and the client return them.
    part : str
        Which part of an answer, as in ``checks`` or ``after.totals``; default: its first list of materials,
        such as the lines of its recipe, else its first list, else what it says in figures.

    Raises
    ------
    InvalidRequest
        There is no such part; those there are are named.

    Examples
    --------
    >>> as_frame([{"material": "kaolin", "use": {"max": 60}}]).to_dict("records")
    [{'material': 'kaolin', 'use.max': 60}]
    """
    found = _plain(items)
    for name in filter(None, part.split(".")):
        if not isinstance(found, Mapping) or name not in found:
            known = ", ".join(found) if isinstance(found, Mapping) else "none"
            raise InvalidRequest(f"There is no part {part}; there are: {known}.")
        found = found[name]
    if not part and isinstance(found, Mapping):
        said = _said(found)
        lists = [*filter(None, map(_listed, said.values()))]
        found = next((rows for rows in lists if "material" in rows[0]), [*lists, said][0])
    rows = found if isinstance(found, list) else [found]
    return pd.json_normalize([dict(row) if isinstance(row, Mapping) else {"value": row} for row in rows])


def as_html(answer: Any) -> str:
    """Return an answer as a notebook shows it: a table, its sentences and special cautions; escaped."""
    whole = _plain(answer)
    said = _said(whole)
    special = [one for one in whole["cautions"] if not one["standing"]]
    texts = [item["text"] for part in (*said.values(), special) for item in _texts(part)]
    words = [f"{name}: {value}" for name, value in said.items() if isinstance(value, str | int | float)]
    listed = "".join(f"<li>{escape(str(text))}</li>" for text in (*words, *texts))
    frame = as_frame(answer)
    flat = [name for name in frame if not frame[name].map(lambda cell: isinstance(cell, list | dict)).any()]
    return f"{frame[flat].to_html(index=False, na_rep='', border=0)}<ul>{listed}</ul>"


def _plain(items: Any) -> Any:
    if hasattr(items, "model_dump"):
        return items.model_dump(mode="json")
    return (
        items
        if isinstance(items, Mapping | str) or not isinstance(items, Iterable)
        else [*map(_plain, items)]
    )


def _said(answer: Mapping[str, Any]) -> dict[str, Any]:
    """Return what an answer says of its own; what every answer carries comes with JSON."""
    return {
        name: value for name, value in answer.items() if name not in ("cautions", "notes", "rules_version")
    }


def _listed(part: Any) -> Any:
    """Return a part that is a list, or the lines of one that is a recipe; nothing of another."""
    return part.get("lines") if isinstance(part, Mapping) else part if isinstance(part, list) else None


def _texts(part: Any) -> list[Mapping[str, Any]]:
    return (
        [item for item in part if isinstance(item, Mapping) and "text" in item]
        if isinstance(part, list)
        else []
    )


def recipes_from_frame(frame: pd.DataFrame, name: str = "") -> list[dict[str, Any]]:
    """Return the recipes of a DataFrame: ``material``, ``percent`` or ``grams``; ``recipe``, ``lot`` if any.

    Parameters
    ----------
    frame : DataFrame
        Its columns may be called as in a table that is read from a file.
    name : str
        What a recipe is called where no column says it.

    Raises
    ------
    InvalidRecipe
        A column is missing.

    Examples
    --------
    >>> import pandas as pd
    >>> frame = pd.DataFrame({"material": ["kaolin", "betaine-30"], "percent": [62.5, 37.5]})
    >>> recipes_from_frame(frame, "Weir bar")[0]["lines"][1]
    {'material': 'betaine-30', 'percent': 37.5}
    """
    cells = [
        ["" if pd.isna(cell) else f"{cell}".strip() for cell in row] for row in frame.to_numpy(dtype=object)
    ]
    heading = [str(column) for column in frame.columns]
    if "recipe" not in (column.strip().lower() for column in heading):
        heading, cells = ["recipe", *heading], [[name, *row] for row in cells]
    return recipes_of([heading, *cells], "The frame")


def recipes_to_frame(recipes: Iterable[Any]) -> pd.DataFrame:
    """Return recipes as a DataFrame that ``recipes_from_frame`` reads again: a row a line.

    Examples
    --------
    >>> weir = {"name": "Weir bar", "lines": [{"material": "kaolin", "percent": 100}]}
    >>> recipes_to_frame([weir]).to_dict("list")
    {'recipe': ['Weir bar'], 'material': ['kaolin'], 'percent': [100]}
    """
    lines = [
        {"recipe": recipe.get("name") or "", **line}
        for recipe in map(_plain, recipes)
        for line in recipe["lines"]
    ]
    return pd.DataFrame(lines).dropna(axis="columns", how="all")


def save_table(frame: pd.DataFrame, path: Path | str) -> None:
    """Write a DataFrame as CSV, or as xlsx where the name ends so; a spreadsheet runs no cell as a formula.

    Raises
    ------
    NotInstalled
        An xlsx needs the extra ``xlsx``.
    """
    safe = frame.map(lambda cell: defused(cell) if isinstance(cell, str) else cell)
    if Path(path).suffix.lower() == ".xlsx":
        try:
            safe.to_excel(path, index=False, engine="openpyxl")
        except ImportError as error:
            raise NotInstalled.of("Writing a spreadsheet", "xlsx") from error
    else:
        safe.to_csv(path, index=False, lineterminator="\n")
