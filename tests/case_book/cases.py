"""Reads the situations and asks them."""

import tomllib
from pathlib import Path
from typing import Any, NamedTuple

import advisor
from case_book.told import Told
from helpers import ordinary

PLACE = Path(__file__).parent / "situations"
OPEN = "open.toml"


class Case(NamedTuple):
    """A situation: what is asked with which verb, and what the answer must and must never hold."""

    id: str
    title: str
    basis: str
    file: str
    verb: str
    request: dict[str, Any]
    must: dict[str, Any]
    never: dict[str, Any]


def lines(amounts: dict[str, float], unit: str) -> list[dict[str, Any]]:
    return [{"material": key, unit: float(amount)} for key, amount in amounts.items()]


def recipe(block: dict[str, Any]) -> dict[str, Any]:
    """Return the recipe of a case, named or written out, in percent or as weighed into a bowl."""
    named = {one.name: one.lines for one in ordinary.RECIPES}
    percents = block["lines"] if "lines" in block else named[block["of"]]
    name = block.get("of", "A bar of ours")
    if "bowl" not in block:
        return {"name": name, "lines": lines(percents, "percent")}
    grams = {key: round(percent * block["bowl"] / 100, 4) for key, percent in percents.items()}
    return {"name": name, "lines": lines(grams, "grams")}


def case(block: dict[str, Any], file: str) -> Case:
    about = {"recipe": recipe(block)} if {"of", "lines"} & set(block) else {}
    asked = {**about, **block.get("request", {})}
    judged = (block.get("must", {}), block.get("never", {}))
    return Case(block["id"], block["title"], block["basis"], file, block["verb"], asked, *judged)


def load() -> tuple[Case, ...]:
    """Return every situation, file by file."""
    read = []
    for path in sorted(PLACE.glob("*.toml")):
        if path.name != OPEN:
            blocks = tomllib.loads(path.read_text(encoding="utf-8"))["case"]
            read += [case(block, path.stem) for block in blocks]
    return tuple(read)


def still_open() -> dict[str, str]:
    """Return the ids of the situations that are not answered rightly yet, and what is still wrong."""
    blocks = tomllib.loads((PLACE / OPEN).read_text(encoding="utf-8")).get("open", [])
    return {block["id"]: block["wrong"] for block in blocks}


def ask(one: Case) -> Told:
    """Ask a situation, and return the JSON that comes back, a problem too."""
    try:
        answer = getattr(advisor, one.verb)(one.request).model_dump(mode="json")
    except advisor.AdvisorError as problem:
        answer = problem.problem()
    return Told(one.verb, one.request, answer)
