"""What a sweep came to: a row for each recipe, and the counts of its outcomes."""

from collections.abc import Iterator, Mapping
from typing import Any

from advisor.sweeps.schema import Swept

COLUMNS = (
    "recipe",
    "outcome",
    "lines_moved",
    "why",
    "replacement",
    "price_before",
    "price_after",
    "active_before",
    "active_after",
    "wetness_before",
    "wetness_after",
)
RECIPE_COLUMNS = ("recipe", "material", "percent", "before")
OUTCOMES = ("changed", "unchanged", "not touched", "nothing fits", "met", "not met", "refused")
_PLACES = (
    ("price", "totals", "price_per_kg"),
    ("active", "totals", "active"),
    ("wetness", "consistency", "wetness"),
)
Row = dict[str, str]


def summary_row(task: Swept, body: Mapping[str, Any], entry: Mapping[str, Any]) -> Row:
    """Return what a recipe came to.

    Parameters
    ----------
    task : str
    body : mapping
        What was asked.
    entry : mapping
        The line of the sweep: ``answer`` or ``problem``.

    Returns
    -------
    dict
        Text by column; ``outcome`` is one of ``OUTCOMES``. A recipe is ``not touched`` where it does not hold
        what is missing.

    Examples
    --------
    >>> row = summary_row("correction", {"recipe": {"name": "Heron bar"}}, {"problem": {
    ...     "code": "invalid-recipe", "detail": "The percents add up to 99 %, not to 100."}})
    >>> row["recipe"], row["outcome"], row["why"]
    ('Heron bar', 'refused', 'The percents add up to 99 %, not to 100.')
    """
    recipe = body.get("recipe")
    row = dict.fromkeys(COLUMNS, "") | {
        "recipe": str(recipe.get("name", "") if isinstance(recipe, Mapping) else "")
    }
    if task == "substitution" and not _holds(recipe, body.get("missing")):
        return row | {"outcome": "not touched"}
    if "problem" in entry:
        problem = entry["problem"]
        nothing = problem["code"] == "no-recipe-fits"
        return row | {"outcome": "nothing fits" if nothing else "refused", "why": problem["detail"]}
    return row | _OF_TASK[task](entry["answer"])


def recipe_rows(body: Mapping[str, Any], entry: Mapping[str, Any]) -> Iterator[Row]:
    """Yield the lines of the recipe that came of it: the corrected one, or the first option."""
    answer = entry.get("answer") or {}
    found = next(iter(answer.get("options", ())), answer)
    if "changes" not in found:
        return
    before = {change["material"]: change["before"] for change in found["changes"]}
    after = {line["material"]: line["percent"] for line in found["recipe"]["lines"]}
    for material in (*after, *(key for key in before if key not in after)):
        percent = after.get(material, 0.0)
        yield {
            "recipe": str(body["recipe"].get("name", "")),
            "material": material,
            "percent": f"{percent:g}",
            "before": f"{before.get(material, percent):g}",
        }


def _holds(recipe: Any, missing: Any) -> bool:
    lines = recipe.get("lines") if isinstance(recipe, Mapping) else None
    if not isinstance(lines, list | tuple):
        return True
    return any(isinstance(line, Mapping) and line.get("material") == missing for line in lines)


def _corrected(answer: Mapping[str, Any]) -> Row:
    changed = answer["status"] == "corrected"
    return {"outcome": "changed" if changed else "unchanged", **_moved(answer)}


def _substituted(answer: Mapping[str, Any]) -> Row:
    if not answer["options"]:
        reasons = [one["reason"] for one in answer["rejected"]]
        return {"outcome": "nothing fits", "why": reasons[0] if reasons else ""}
    best = answer["options"][0]
    named = best["replacement"]
    return {
        "outcome": "changed",
        "replacement": named if isinstance(named, str) else " + ".join(named),
        **_moved(best),
    }


def _assessed(answer: Mapping[str, Any]) -> Row:
    broken = [check["name"] for check in answer["checks"] if not check["ok"] and check["kind"] != "advice"]
    return {
        "outcome": "not met" if broken else "met",
        "why": ", ".join(broken),
        **{f"{name}_before": _figure(answer[part][field]) for name, part, field in _PLACES},
    }


_OF_TASK = {"correction": _corrected, "substitution": _substituted, "assessment": _assessed}


def _moved(found: Mapping[str, Any]) -> Row:
    figures = {
        f"{name}_{when}": _figure(found[when][part][field])
        for name, part, field in _PLACES
        for when in ("before", "after")
    }
    reasons = [change["why"] for change in found["changes"]]
    return {"lines_moved": str(len(reasons)), "why": reasons[0] if reasons else "", **figures}


def _figure(value: float | None) -> str:
    return "" if value is None else f"{value:g}"
