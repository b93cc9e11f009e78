"""How answers look on a terminal: plain tables and numbered sentences."""

from collections import Counter
from collections.abc import Iterable, Mapping
from typing import Any

from rich.box import SIMPLE_HEAD
from rich.console import Console
from rich.markup import escape
from rich.table import Table

from advisor.rulebook.load import load_rulebook

_LISTS = {
    "findings": "What stands out",
    "advice": "Advice",
    "questions": "Ask yourself before you change the recipe",
    "cautions": "Take care",
    "notes": "Notes",
}
_LABELS = {
    "active": "active matter %",
    "primary_active": "of it primary %",
    "cationic": "cationic %",
    "water": "water %",
    "liquids": "liquids %",
    "powders": "powders %",
    "oils": "oils %",
    "price_per_kg": "price per kg",
    "mass_left": "mass left %",
    "liquid_to_powder": "liquid to powder",
    "wetness": "how wet it is for its powders",
    "wetness_at_20c": "how wet it is at 20 °C",
    "word": "the dough is",
    "watery_share": "water-based part of the liquids",
    "oil_per_powder": "oil per powder",
    "coarse_share": "coarse share of the powders",
    "chance_workable": "chance that it is workable",
    "chance_close": "chance that it is close",
    "basis": "where this comes from",
}


def show(
    verb: str, body: Mapping[str, Any], answer: Mapping[str, Any], console: Console | None = None
) -> None:
    """Print an answer for a person; ``verb`` is the task it answers and ``body`` the request."""
    out = console or Console(highlight=False, emoji=False)
    name = (body.get("recipe") or {}).get("name") or "recipe"
    out.print(f"[bold]{name}[/bold]: {verb}{_status(answer)}", markup=True)
    for place in ("findings", "advice", "questions"):
        _texts(out, place, answer)
    _parts(out, answer)
    for place in ("notes", "cautions"):
        _texts(out, place, answer)
    out.print(f"Rules {answer['rules_version']}")


def _parts(out: Console, answer: Mapping[str, Any]) -> None:
    """Print what an answer, an option or one of two ways out consists of."""
    if "changes" in answer:
        _recipe(out, answer)
    elif "recipe" in answer:
        _lines(out, "Recipe", answer["recipe"])
    for place, value in answer.items():
        if place in _HANDLED:
            continue
        if place == "stages":
            _stages(out, value)
        elif place == "bowl_after":
            _lines(out, "In the bowl afterwards", value)
        elif place == "options":
            _options(out, value)
        else:
            _other(out, place, value)
    if "before" in answer:
        _before_and_after(out, answer)
    elif "totals" in answer:
        _figures(out, "Totals", answer["totals"])
        if "consistency" in answer:
            _figures(out, "Consistency", answer["consistency"])
    _checks(out, answer.get("checks", ()))
    for item in answer.get("sensitivities", ()):
        out.print(f"  {item['text']}", markup=False)


def _stages(out: Console, stages: Iterable[Iterable[Mapping[str, Any]]]) -> None:
    for number, stage in enumerate(stages, start=1):
        parts = " and ".join(f"{part['grams']:g} g {part['material']}" for part in stage)
        out.print(f"  {number}. {parts}", markup=False)


def _lines(out: Console, title: str, recipe: Mapping[str, Any]) -> None:
    table = _table("material", "amount", title=title)
    for line in recipe["lines"]:
        amount = f"{line['grams']:g} g" if "grams" in line else f"{line['percent']:g} %"
        table.add_row(line["material"], amount)
    out.print(table)


def _options(out: Console, options: Iterable[Mapping[str, Any]]) -> None:
    for number, option in enumerate(options, start=1):
        named = option["replacement"]
        name = named if isinstance(named, str) else " and ".join(named)
        out.print(f"\n[bold]{number}. {name}[/bold]", markup=True)
        _recipe(out, option)
        for shift in option["shifts"]:
            out.print(f"  - {shift['text']}", markup=False)
        _checks(out, (check for check in option["checks"] if not check["ok"]))


def show_sweep(rows: Iterable[Mapping[str, str]], console: Console | None = None) -> None:
    """Print how many recipes came to what, and the first of those that are not as they were."""
    out = console or Console(highlight=False, emoji=False)
    counts: Counter[str] = Counter()
    table = _table("recipe", "outcome", "lines", "price", "active %", "why", title="Recipes")
    for row in rows:
        counts[row["outcome"]] += 1
        if row["outcome"] in _TELLING and table.row_count < _MOST_SHOWN:
            pairs = (
                f"{row[f'{name}_before']} > {row[f'{name}_after']}".strip("> ")
                for name in ("price", "active")
            )
            moved = (
                row["lines_moved"],
                *pairs,
                row["replacement"] or ("" if row["outcome"] == "changed" else row["why"]),
            )
            table.add_row(*map(escape, (row["recipe"], row["outcome"], *moved)))
    total = _table(title="Outcomes", show_header=False)
    for outcome, count in counts.most_common():
        total.add_row(outcome, str(count))
    if table.row_count:
        out.print(table)
        rest = sum(counts[outcome] for outcome in _TELLING) - table.row_count
        if rest:
            out.print(f"{rest} more in the summary.")
    out.print(total)


_BASES = {"estimate": "first guess", "own": "from your doughs"}
_MOST_SHOWN = 20
_TELLING = ("changed", "nothing fits", "refused", "not met")
_HANDLED = {
    "status",
    "recipe",
    "changes",
    "before",
    "after",
    "totals",
    "consistency",
    "checks",
    "sensitivities",
    "rules_version",
    "ranking",
    *_LISTS,
}


def _table(*columns: str, title: str | None = None, show_header: bool = True) -> Table:
    return Table(*columns, title=title, title_justify="left", box=SIMPLE_HEAD, show_header=show_header)


def _label(name: str) -> str:
    return _LABELS.get(name, name.replace("_", " "))


def _status(answer: Mapping[str, Any]) -> str:
    return f", {answer['status']}" if "status" in answer else ""


def _texts(out: Console, place: str, answer: Mapping[str, Any]) -> None:
    items = answer.get(place) or ()
    if place == "findings":
        items = items[: load_rulebook().findings.at_most_in_text]
    if items:
        out.print(f"\n[bold]{_LISTS[place]}[/bold]")
        for item in items:
            out.print(f"  - {item['text'] if isinstance(item, Mapping) else item}", markup=False)


def _recipe(out: Console, answer: Mapping[str, Any]) -> None:
    changes = {change["material"]: change for change in answer["changes"]}
    table = _table("material", "before %", "after %", "change", "why", title="Next recipe")
    kept = {line["material"]: line["percent"] for line in answer["recipe"]["lines"]}
    for key in [*kept, *(key for key in changes if key not in kept)]:
        change = changes.get(key)
        if change is None:
            table.add_row(key, f"{kept[key]:g}", f"{kept[key]:g}", "", "")
        else:
            table.add_row(
                key, f"{change['before']:g}", f"{change['after']:g}", f"{change['change']:+g}", change["why"]
            )
    out.print(table)


def _before_and_after(out: Console, answer: Mapping[str, Any]) -> None:
    table = _table("", "before", "after")
    for part in ("totals", "consistency"):
        before, after = _told(answer["before"][part]), answer["after"][part]
        for name, value in before.items():
            if not isinstance(value, Mapping) and (value or after[name]):
                table.add_row(_label(name), _plain(value), _plain(_told(after)[name]))
    out.print(table)


def _told(figures: Mapping[str, Any]) -> dict[str, Any]:
    """Return figures as they are told: chances only where they come from the maker's own doughs."""
    own = figures.get("basis") == "own"
    told = {name: value for name, value in figures.items() if own or not name.startswith("chance_")}
    return told | ({"basis": _BASES[told["basis"]]} if "basis" in told else {})


def _figures(out: Console, title: str, figures: Mapping[str, Any]) -> None:
    table = _table(title=title, show_header=False)
    for name, value in _told(figures).items():
        if isinstance(value, Mapping):
            for inner, figure in value.items():
                table.add_row(f"{_label(name)}, {_label(inner)}", _plain(figure))
        else:
            table.add_row(_label(name), _plain(value))
    out.print(table)


def _matters(check: Mapping[str, Any]) -> bool:
    return check["kind"] not in ("use", "advice") or check["binding"] or not check["ok"]


def _checks(out: Console, checks: Iterable[Mapping[str, Any]]) -> None:
    """Print the checks that decide; ranges and frames only where they press or are not met."""
    table = _table("demand", "value", "at least", "at most", "", title="Checks")
    for check in filter(_matters, checks):
        state = " (dried)" if check["state"] == "as_dried" else ""
        verdict = check.get("verdict") or ("met" if check["ok"] else "not met")
        if check["kind"] == "advice":
            verdict = "within" if check["ok"] else "beyond (advice)"
        unit = "" if check["unit"] == "1" else f" {check['unit']}"
        table.add_row(
            f"{check['name']}{state}",
            f"{check['value']:g}{unit}",
            _plain(check["min"]),
            _plain(check["max"]),
            verdict,
        )
    if table.row_count:
        out.print(table)


def _other(out: Console, place: str, value: Any) -> None:
    """Print a part that only some answers have: rows as a table, figures as lines."""
    title = _label(place).capitalize()
    if value is None or value == () or value == []:
        return
    rows = value if isinstance(value, list | tuple) else None
    if rows and all(isinstance(row, Mapping) for row in rows):
        names = list(dict.fromkeys(name for row in rows for name in row))
        table = _table(*map(_label, names), title=title)
        for row in rows:
            table.add_row(*(_plain(row.get(name)) for name in names))
        out.print(table)
    elif isinstance(value, Mapping) and "checks" in value:
        out.print(f"\n[bold]{title}[/bold]")
        _parts(out, value)
    elif isinstance(value, Mapping):
        _figures(out, title, value)
    else:
        out.print(f"{title}: {_plain(value)}", markup=False)


def _plain(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:g}"
    if isinstance(value, list | tuple):
        return ", ".join(_plain(part) for part in value)
    if isinstance(value, Mapping):
        return ", ".join(f"{name} {_plain(part)}" for name, part in value.items() if part is not None)
    return str(value)
