"""From a file and options to the body of a request."""

import argparse
import json
import os
import sys
from collections.abc import Callable, Iterator, Mapping, Sequence
from itertools import chain
from pathlib import Path
from typing import Any

from advisor.cli.flags import LINES, OPTIONS, Option, names
from advisor.errors import InvalidRequest
from advisor.recipe.request import NAMES_NONE, with_keys
from advisor.registry import TASKS
from advisor.rulebook.load import load_rulebook
from advisor.writing import Writing

Body = dict[str, Any]


class Kept(Body):
    """What the notebook keeps, of which a verb takes what it asks for."""


_MISSING = "Field required"
_SHOWN = 60
_PARTS = 4
_HOLDING = {"recipe", "recipes", "batches", "lines"}


def recipe_of(body: Body) -> Body:
    """Return a request; of an answer or a kept recipe the recipe: the first of several, or the bowl after."""
    if body.keys().isdisjoint(("rules_version", "kept_on")):
        return body
    options = body.get("options") or [{}]
    first = options[0] if isinstance(options, list) and isinstance(options[0], dict) else {}
    found = (of.get(name) for of in (body, first) for name in ("recipe", "bowl_after"))
    return {"recipe": next((one for one in found if one is not None), None)}


def side_by_side(first: tuple[str, Body], second: tuple[str, Body], market: str | None) -> Body:
    """Return a request that compares two recipes, with the materials and the wishes they come with.

    Each goes with what it was asked of, which tells recipes of one name apart. Where they wish two things,
    neither is taken, and it is said; ``market`` is the one that was typed.
    """
    bodies = (first[1], second[1])
    recipes: list[Any] = [one.get("recipe") for one in bodies]
    names = [one.get("name") for one in recipes if isinstance(one, dict)]
    if len(names) > 1 and names[0] == names[1]:
        recipes = [{**one, "name": source} for one, (source, _) in zip(recipes, (first, second), strict=True)]
    materials = _agreed([{one["key"]: one for one in body.get("materials") or ()} for body in bodies])
    wishes = _agreed([_wishes_of(body, market) for body in bodies])
    both: Body = {"recipes": recipes}
    if wishes:
        both["wishes"] = wishes
    if materials:
        both["materials"] = list(materials.values())
    return both


def _agreed(tables: Sequence[Body]) -> Body:
    """Return what any of some tables says and no other contradicts, and say what is left away."""
    found = {name: value for table in tables for name, value in table.items() if value is not None}
    for name in list(found):
        told = [table[name] for table in tables if table.get(name) is not None]
        if any(one != told[0] for one in told):
            del found[name]
            words = " and ".join(map(str, told))
            shown = f", {words}" if len(words) <= _SHOWN else ""
            say(f"The files differ in {name}{shown}; neither is taken.")
    return found


def _wishes_of(body: Body, market: str | None) -> Body:
    """Return what a file wishes; its market only where none was typed."""
    wishes, named = body.get("wishes"), _market_of(body)
    rest = {**wishes} if isinstance(wishes, dict) else {}
    rest.pop("market", None)
    return rest if market is not None or named in (None, "none") else {**rest, "market": named}


def _market_of(body: Body) -> Any:
    """Return the market a file names: that of its wishes, or else the one a label is asked for."""
    wishes = body.get("wishes")
    found = wishes.get("market") if isinstance(wishes, dict) else None
    return body.get("market") if found is None else found


def without_others(body: Body, shape: type[Any], verb: str) -> Body:
    """Return a request without what only other verbs ask for, and say what was left away.

    One file is so enough for a bar; a field that no verb knows stays, and is refused. The market a label is
    asked for is that of the wishes where they name none.
    """
    fields = shape.model_fields
    if isinstance(body, Kept):
        return {field: value for field, value in body.items() if field in fields}
    if "recipe" in body and "market" in body and "wishes" in fields and "market" not in fields:
        wishes = body.get("wishes") or {}
        if isinstance(wishes, dict) and wishes.get("market") in (None, body["market"]):
            rest = {field: value for field, value in body.items() if field != "market"}
            body = {**rest, "wishes": {**wishes, "market": body["market"]}}
    odd = body.keys() - fields.keys()
    known = (
        {field for one in TASKS if one.method == "POST" for field in one.request.model_fields} if odd else ()
    )
    left = sorted(field for field in odd if field in known)
    if left and "recipe" in body:
        say(f"Not asked by {verb}, and left away: {', '.join(left)}.")
        return {field: value for field, value in body.items() if field not in left}
    return body


def put_in(
    body: Body,
    options: argparse.Namespace,
    shape: type[Any],
    key: Callable[[str], str] = lambda name: load_rulebook().key_named(name) or name,
) -> Body:
    """Return a request with what the options say put in; ``key`` finds the key of a material's name.

    Raises
    ------
    InvalidRequest
    """
    put_keys(body, key)
    for option in OPTIONS:
        given = getattr(options, option.name, None)
        if given is not None and option.fits(shape):
            meant = _meant(option, given, key)
            if option.place != LINES:
                _set(body, tuple(option.place.split(".")), meant)
            elif "lots" not in shape.model_fields:
                _of_lots(body, meant)
    for setting in options.set:
        path, equals, value = setting.partition("=")
        if not equals or not all(path.split(".")):
            raise InvalidRequest(f"--set needs FIELD=VALUE, not {setting!r}.")
        _set(body, tuple(path.split(".")), _value(value))
    if getattr(options, "normalise", False):
        _normalise(body.get("recipe"))
    return body


def _meant(option: Option, given: Any, key: Callable[[str], str]) -> Any:
    """Return what was given: one list or table of what may be repeated, keys for names, words for words."""
    if option.place in ("report.feel", "report.degree", "outcome"):
        return load_rulebook().feels.word(given)
    if option.place in ("missing", "material", "liquid"):
        return key(given)
    if not option.many:
        return given
    if isinstance(given[0], dict | tuple):
        pairs = chain.from_iterable(one.items() if isinstance(one, dict) else (one,) for one in given)
        return {key(name): value for name, value in pairs}
    if option.kind is names:
        return [found for one in given for found in _keys(one, key)]
    return list(chain.from_iterable(one if isinstance(one, list) else (one,) for one in given))


def put_keys(body: Any, key: Callable[[str], str]) -> None:
    """Put the keys of materials in the place of their names, in every recipe a body holds."""
    if isinstance(body, list):
        for one in body:
            if isinstance(one, dict):
                put_keys(one, key)
    elif isinstance(body, dict):
        if isinstance(body.get("material"), str):
            body["material"] = key(body["material"])
        for field in _HOLDING & body.keys():
            put_keys(body[field], key)


def _keys(parts: Sequence[str], key: Callable[[str], str]) -> Iterator[str]:
    """Yield the keys of names that were parted at commas: the longest of them that is known, each time."""
    while parts:
        joined = [(", ".join(parts[:count]), count) for count in range(min(len(parts), _PARTS), 0, -1)]
        name, count = next((one for one in joined if key(one[0]) != one[0]), joined[-1])
        yield key(name)
        parts = parts[count:]


def _of_lots(body: Body, lots: Mapping[str, str]) -> None:
    """Put lots into the lines of a recipe.

    Raises
    ------
    InvalidRequest
        A lot is of a material that is not in the recipe.
    """
    lines = (body.get("recipe") or {}).get("lines") or []
    by_key = {line.get("material"): line for line in lines if isinstance(line, dict)}
    for name, lot in lots.items():
        if name not in by_key:
            raise InvalidRequest(f"--lot {name}={lot}: {name!r} is not in the recipe.")
        by_key[name]["lot"] = lot


def _set(body: Body, path: tuple[str, ...], value: Any) -> None:
    """Put a value where a path leads; what is on the way is made.

    Raises
    ------
    InvalidRequest
        Something on the way holds no fields.
    """
    *way, last = path
    place: Any = body
    for name in way:
        inner = place.get(name)
        if inner is None:
            inner = place[name] = {}
        if not isinstance(inner, dict):
            raise InvalidRequest(f"{name} of {'.'.join(path)} holds no fields.")
        place = inner
    place[last] = value


def _value(text: str) -> Any:
    try:
        return json.loads(text)
    except (ValueError, RecursionError):
        return text


def _normalise(recipe: Any) -> None:
    """Make the percents of a recipe add up to 100; what is no such recipe is left for its refusal."""
    lines = recipe.get("lines") if isinstance(recipe, dict) else None
    percents: list[Any] = [line.get("percent") for line in lines or () if isinstance(line, dict)]
    if len(percents) != len(lines or ()) or not all(
        type(one) in (int, float) and one > 0 for one in percents
    ):
        return
    total = sum(percents)
    for line in lines or ():
        line["percent"] = round(100 * line["percent"] / total, 4)
    if abs(total - 100) > 0.05:
        say(f"The percents added up to {total:g}; they were made 100.")


def say(note: str) -> None:
    """Say something beside the answer."""
    sys.stderr.write(f"{note}\n")


def read_body(name: str) -> Body:
    """Return the request a file holds: JSON as it stands, or a table as its recipe.

    Raises
    ------
    InvalidRequest, InvalidRecipe
    """
    data = read_bytes(name)
    if (
        data.lstrip(b"\xef\xbb\xbf \t\r\n")[:1] not in (b"{", b"[")
        and Path(name).suffix.casefold() != ".json"
    ):
        from advisor.tables import read_recipe

        title = "" if name == "-" else Path(name).stem
        recipe, notes = read_recipe(data, title, Path(name).name, Writing.of(os.environ))
        for note in notes:
            say(note)
        return {"recipe": with_keys(recipe, load_rulebook())}
    try:
        body = json.loads(data)
    except (ValueError, RecursionError) as error:
        raise InvalidRequest(f"{name} is not JSON: {error}.") from error
    if not isinstance(body, dict):
        raise InvalidRequest(f"{name} holds no JSON object.")
    return {"recipe": body} if "lines" in body else body


def read_bytes(name: str) -> bytes:
    """Return what a file holds; ``-`` is standard input.

    Raises
    ------
    InvalidRequest
    """
    if name == "-":
        return sys.stdin.buffer.read()
    path = Path(name)
    try:
        return path.read_bytes()
    except (OSError, ValueError) as error:
        missing = isinstance(error, FileNotFoundError)
        why = f"There is no file {name}; it" if missing else name
        raise InvalidRequest(f"{why} cannot be read: {getattr(error, 'strerror', error)}.") from error


def _options_for(place: str) -> str:
    """Return the options that give a place of a request, or the first that gives what is inside it."""
    there = [one.typed for one in OPTIONS if one.place == place]
    inside = [one.typed for one in OPTIONS if one.place.startswith(f"{place}.")]
    return " or ".join(there or inside[:1])


def lines_of(error: Any) -> Iterator[str]:
    """Yield what went wrong in a maker's words, one line a fault."""
    plain = isinstance(error, InvalidRequest) and error.detail != f"{error.title}."
    yield error.detail if plain else f"{error.title}. {error.detail.removeprefix(f'{error.title}.')}".strip()
    for fault in error.faults:
        flags = _options_for(fault.where.strip("/").replace("/", "."))
        by_option = f"give it with {flags}" if flags and fault.problem == _MISSING else fault.hint
        hint = f" ({by_option})" if by_option else ""
        yield f"  {fault.where}: {fault.problem}{hint}"
    if any(fault.problem == NAMES_NONE for fault in error.faults):
        yield "Materials by a part of their names: dough-advisor materials WORD"
    nearest = error.extra.get("nearest")
    if nearest:
        names = load_rulebook().ingredients
        lines = (
            f"{names[line.material].material.name if line.material in names else line.material}"
            f" {line.percent:g} %"
            for line in nearest.recipe.lines
        )
        yield f"Nearest recipe: {'; '.join(lines)}"
    for item in error.extra.get("advice", ()):
        yield f"At the bench: {item.text}"
