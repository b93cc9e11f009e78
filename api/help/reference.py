"""The references of the help, each made from what runs: nothing in them is written twice."""

import argparse
import inspect
import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import fields
from functools import partial
from importlib import import_module
from importlib.resources import files
from typing import Any

from advisor.cli.options import parser
from advisor.registry import TASKS
from advisor.rulebook.age import today, whole_months
from advisor.rulebook.load import load_rulebook
from api.help.docstrings import as_markdown
from api.http.problems import catalogue
from api.settings import Settings

Described = Mapping[str, Any]
_METHODS = ("get", "post", "put", "delete")
_WIDTH = 96
_NAMED = re.compile(r"DOUGH_[A-Z_]+")
_BESIDE_THE_SERVER = {
    "DOUGH_POOLED": "A file of `dough-advisor pool` that is put beside the rules.",
    "DOUGH_DECIMAL": "How decimals are written for people: `point` or `comma`.",
    "DOUGH_DATES": "How dates are written for people, by one of the words that a wrong one is answered with.",
    "DOUGH_TODAY": "The day that is taken for today, as in 2026-11-28: the law and lots have an age.",
}


def made(name: str, described: Described) -> str:
    """Return one of the references as Markdown.

    Parameters
    ----------
    name : str
        One of ``MADE``.
    described : mapping
        The description of the API.

    Examples
    --------
    >>> made("reference/settings", {}).splitlines()[0]
    '# Settings of the server'
    """
    return "\n".join(MADE[name](described)) + "\n"


def _table(*header: str) -> Iterator[str]:
    yield f"| {' | '.join(header)} |"
    yield f"|{'---|' * len(header)}"


def _row(*cells: object) -> str:
    plain = (" ".join(str(cell).split()).replace("``", "`").replace("|", r"\|") for cell in cells)
    return f"| {' | '.join(plain)} |"


def _api(described: Described) -> Iterator[str]:
    yield "# The JSON API\n"
    yield f"{described['info']['description']}\n"
    yield "Each call can be tried under `/docs` of a running server; `/openapi.json` describes it whole.\n"
    operations = [
        (method, path, operations[method])
        for path, operations in described["paths"].items()
        for method in _METHODS
        if method in operations
    ]
    for tag in described["tags"]:
        yield f"## {tag['name']}\n\n{tag['description']}\n"
        yield from _table("call", "what it does", "id", "refuses with")
        for method, path, told in operations:
            if tag["name"] in told["tags"]:
                refused = ", ".join(status for status in told["responses"] if status >= "400")
                yield _row(f"`{method.upper()} {path}`", told["summary"], f"`{told['operationId']}`", refused)
        yield ""
    yield "## Fields\n\nWhat is sent and what is answered, a table a shape. A field in bold must be there.\n"
    for name, shape in sorted(described["components"]["schemas"].items()):
        if "properties" in shape:
            yield f"### {name}\n"
            yield f"{shape.get('description', '').partition(chr(10))[0]}\n"
            yield from _shape(shape)
            yield ""
    yield "## Problem codes\n"
    yield from _table("code", "status", "what happened", "what to do")
    for code, kind in sorted(catalogue().items()):
        yield _row(f"`{code}`", kind.status, kind.title, kind.remedy)


def _shape(shape: Mapping[str, Any]) -> Iterator[str]:
    yield from _table("field", "holds", "about")
    needed = shape.get("required", ())
    for name, field in shape["properties"].items():
        called = f"**{name}**" if name in needed else name
        yield _row(called, _holds(field), field.get("description", ""))


def _holds(field: Mapping[str, Any]) -> str:
    """Return what a field of a schema holds, in a word or a few.

    Examples
    --------
    >>> _holds({"anyOf": [{"type": "array", "items": {"type": "integer"}}, {"type": "null"}]})
    'list of integer, or null'
    """
    if "$ref" in field:
        return str(field["$ref"]).rpartition("/")[2]
    if "anyOf" in field or "oneOf" in field:
        kinds = dict.fromkeys(map(_holds, field.get("anyOf") or field["oneOf"]))
        return ", or ".join(kinds)
    words = [f"`{word}`" for word in field.get("enum", [field["const"]] if "const" in field else ())]
    if words:
        return ", ".join(words)
    kind = str(field.get("type", "anything"))
    if kind == "array":
        return f"list of {_holds(field.get('items', {}))}"
    inner = field.get("additionalProperties")
    if kind == "object" and isinstance(inner, Mapping):
        return f"table of {_holds(inner)}"
    return kind + _bounds(field)


def _bounds(field: Mapping[str, Any]) -> str:
    signs = {"exclusiveMinimum": "over", "minimum": "from", "maximum": "to", "maxLength": "at most"}
    told = [f"{word} {field[name]:.12g}" for name, word in signs.items() if name in field]
    return f", {' '.join(told)}" if told else ""


def _command(_: Described) -> Iterator[str]:
    whole, verbs = parser(None)
    yield "# The command line\n"
    yield from _help(whole)
    [among] = [one for one in whole._actions if isinstance(one, argparse._SubParsersAction)]
    for verb in sorted(verbs):
        yield f"## {verb}\n"
        yield from _help(among.choices[verb])


def _help(made: argparse.ArgumentParser) -> Iterator[str]:
    made.formatter_class = partial(argparse.RawDescriptionHelpFormatter, width=_WIDTH)
    yield f"```text\n{made.format_help().rstrip()}\n```\n"


def _settings(_: Described) -> Iterator[str]:
    yield "# Settings of the server\n"
    yield "Read from the environment when it starts.\n"
    yield from _table("variable", "what it sets", "without it")
    about = dict(re.findall(r"^(\w+) : [^\n]+\n((?: {4}[^\n]+\n?)+)", inspect.getdoc(Settings) or "", re.M))
    read = dict.fromkeys(_NAMED.findall(inspect.getsource(Settings.read)))
    for name in (name for name in read if name not in _BESIDE_THE_SERVER):
        changed = Settings.read({name: "7"})
        for field in fields(Settings):
            default, value = getattr(Settings(), field.name), getattr(changed, field.name)
            if value != default:
                inner = [one for one in getattr(value, "_fields", ()) if getattr(value, one) is not None]
                yield _row(f"`{name}`", ": ".join((*inner, about[field.name])), _default(default))
    for name, told in _BESIDE_THE_SERVER.items():
        yield _row(f"`{name}`", told, "nothing")


def _default(value: object) -> str:
    if isinstance(value, tuple):
        return ", ".join(filter(None, value)) or "nothing"
    return "nothing" if value is None else f"`{value}`"


def _python(_: Described) -> Iterator[str]:
    yield "# Python\n"
    yield "A task takes a request, a dict or its shape, and returns an answer or raises `AdvisorError`.\n"
    for one in TASKS:
        yield from _documented(f"advisor.{one.name}", one.function)
    advisor = import_module("advisor")
    for name in sorted(set(advisor.__all__) - {one.name for one in TASKS}):
        yield from _documented(f"advisor.{name}", getattr(advisor, name))


def _documented(name: str, thing: Any) -> Iterator[str]:
    yield f"## {name}\n"
    if inspect.isfunction(thing):
        taken = ", ".join(inspect.signature(thing).parameters)
        yield f"`{name}({taken})`\n"
    yield as_markdown(inspect.getdoc(thing) or "") + "\n"


def _rules(_: Described) -> Iterator[str]:
    yield files("rules").joinpath("README.md").read_text(encoding="utf-8")


def _law(_: Described) -> Iterator[str]:
    yield "# How old the law is\n"
    yield f"Each market's limits are as old as the text they were read in. Today is {today()}.\n"
    yield from _table(
        "market", "text of", "months old", "last held against its source", "to be read again by"
    )
    for market, head in load_rulebook().law_texts.files.items():
        months = whole_months(head.text_of, today())
        yield _row(market, head.text_of, months, head.verified_on, head.review_by)


MADE: Mapping[str, Callable[[Described], Iterator[str]]] = {
    "reference/api": _api,
    "reference/python": _python,
    "reference/command-line": _command,
    "reference/settings": _settings,
    "reference/rules": _rules,
    "reference/law": _law,
}
