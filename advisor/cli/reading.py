"""From a file and options to the body of a request."""

import argparse
import json
import sys
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

from advisor.cli.options import OPTIONS
from advisor.errors import InvalidRequest
from advisor.recipe.request import with_keys
from advisor.registry import TASKS, Task
from advisor.rulebook.load import load_rulebook

Body = dict[str, Any]
_MISSING = "Field required"


def body_of(options: argparse.Namespace, asked: Task) -> Body:
    """Return the request: the file, with what the options say put in.

    Raises
    ------
    InvalidRequest, InvalidRecipe
    """
    body = recipe_of(read_body(options.file))
    if getattr(options, "other", None):
        body = _side_by_side((body, recipe_of(read_body(options.other))), options.market)
    return put_in(_without_others(body, asked), options, asked)


def recipe_of(body: Body) -> Body:
    """Return a request; of an answer or a kept recipe the recipe: the first of several, or the bowl after."""
    if body.keys().isdisjoint(("rules_version", "kept_on")):
        return body
    options = body.get("options") or [{}]
    first = options[0] if isinstance(options, list) and isinstance(options[0], dict) else {}
    found = (of.get(name) for of in (body, first) for name in ("recipe", "bowl_after"))
    return {"recipe": next((one for one in found if one is not None), None)}


def _side_by_side(bodies: Sequence[Body], market: str | None) -> Body:
    """Return a request that compares the recipes of two files, in the market they name if none is typed."""
    both: Body = {"recipes": [one.get("recipe") for one in bodies]}
    named = [found for found in map(_market_of, bodies) if found not in (None, "none")]
    if market is None and named:
        if any(one != named[0] for one in named):
            said = " and ".join(map(str, named))
            say(f"The files name different markets, {said}; neither is taken: name one with --market.")
        else:
            both["wishes"] = {"market": named[0]}
    return both


def _market_of(body: Body) -> Any:
    """Return the market a file names: that of its wishes, or else the one a label is asked for."""
    wishes = body.get("wishes")
    found = wishes.get("market") if isinstance(wishes, dict) else None
    return body.get("market") if found is None else found


def _without_others(body: Body, asked: Task) -> Body:
    """Return a request without what only other verbs ask for, and say what was left away.

    One file is so enough for a bar; a field that no verb knows stays, and is refused. The market a label is
    asked for is that of the wishes where they name none.
    """
    fields = asked.request.model_fields
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
        say(f"Not asked by {asked.asked_as}, and left away: {', '.join(left)}.")
        return {field: value for field, value in body.items() if field not in left}
    return body


def put_in(body: Body, options: argparse.Namespace, asked: Task) -> Body:
    """Return a request with what the options say put in.

    Raises
    ------
    InvalidRequest
    """
    for option in OPTIONS:
        name, *inner = option.place.split(".")
        given = getattr(options, option.flag.lstrip("-").replace("-", "_"), None)
        if given is not None and name in asked.request.model_fields:
            _set(body, (name, *inner), _named(name, given))
    for setting in options.set:
        path, equals, value = setting.partition("=")
        if not equals or not all(path.split(".")):
            raise InvalidRequest(f"--set needs FIELD=VALUE, not {setting!r}.")
        _set(body, tuple(path.split(".")), _value(value))
    if options.normalise:
        _normalise(body.get("recipe"))
    return body


def _named(field: str, given: Any) -> Any:
    """Return what was given, names of materials as keys where a field holds some."""
    if field == "missing":
        return load_rulebook().key_named(given) or given
    if field == "shelf":
        names = (name.strip() for name in given.split(","))
        return [load_rulebook().key_named(name) or name for name in names if name]
    return given


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
        recipe, notes = read_recipe(data, title, Path(name).name)
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


def lines_of(error: Any) -> Iterator[str]:
    """Yield what went wrong in a maker's words, one line a fault."""
    plain = isinstance(error, InvalidRequest) and error.detail != f"{error.title}."
    yield error.detail if plain else f"{error.title}. {error.detail.removeprefix(f'{error.title}.')}".strip()
    options = {option.place: f"{option.flag} {option.metavar}" for option in OPTIONS}
    for fault in error.faults:
        option = options.get(fault.where.strip("/").replace("/", "."))
        by_option = f"give it with {option}" if option and fault.problem == _MISSING else fault.hint
        hint = f" ({by_option})" if by_option else ""
        yield f"  {fault.where}: {fault.problem}{hint}"
    nearest = error.extra.get("nearest")
    if nearest:
        names = load_rulebook().ingredients
        lines = (
            f"{names[line['material']].material.name if line['material'] in names else line['material']}"
            f" {line['percent']:g} %"
            for line in nearest["recipe"]["lines"]
        )
        yield f"Nearest recipe: {'; '.join(lines)}"
    for item in error.extra.get("advice", ()):
        yield f"At the bench: {item['text']}"
