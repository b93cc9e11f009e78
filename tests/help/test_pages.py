"""The pages of the help hang together, and say what the page and the code say."""

import argparse
import json
import re
import subprocess
import sys
from pathlib import Path

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient

import advisor
from advisor.cli.options import parser
from advisor.registry import TASKS
from advisor.rulebook.law_lists import LimitRow, ProhibitedRow
from advisor.schema.material import Material
from api.help.contents import entries, text
from api.help.reference import MADE
from api.help.rendering import slug

LINK = re.compile(r"\]\(([^)#]*)(?:#([^)]+))?\)")
ROOT = Path(__file__).resolve().parents[2]
RULES = (".toml", ".csv")
IN_BLOCKS = ("key", "evidence")


def of(name: str, client: TestClient) -> str:
    app = client.app
    assert isinstance(app, FastAPI)
    return text(name, app.openapi())


def test_every_page_stands_once_in_the_contents(folder: Path) -> None:
    named = [one.name for one in entries()]
    written = {str(path.relative_to(folder).with_suffix("")) for path in folder.rglob("*.md")}
    assert len(named) == len(set(named))
    assert {"index", *named} == written | MADE.keys()


def test_every_link_leads_somewhere(folder: Path, client: TestClient) -> None:
    pages = {"index", *(one.name for one in entries())}
    for name in sorted(pages - {"reference/rules"}):
        for address, part in LINK.findall(
            re.sub(r"`[^`\n]*`|```.*?```", "", of(name, client), flags=re.DOTALL)
        ):
            if "://" not in address:
                target = str((folder / name).parent.joinpath(address).resolve().relative_to(folder.resolve()))
                assert target.removesuffix(".md") in pages, (name, address)
                heads = re.findall(r"^#+ (.+)$", of(target.removesuffix(".md"), client), re.MULTILINE)
                assert not part or part in map(slug, heads), (name, part)


def test_what_is_named_of_the_page_is_a_word_of_the_page(folder: Path) -> None:
    words = set(leaves(json.loads((ROOT / "api/page/texts/en.json").read_text(encoding="utf-8"))))
    said = [
        (path.stem, word)
        for path in folder.rglob("*.md")
        for line in re.findall(r"^On the page: .*$", path.read_text(encoding="utf-8"), re.MULTILINE)
        for word in re.findall(r"\*([^*]+)\*", line)
    ]
    assert len(said) > 20
    assert not [one for one in said if one[1] not in words]


def leaves(texts: object) -> list[str]:
    return (
        [word for inner in texts.values() for word in leaves(inner)]
        if isinstance(texts, dict)
        else [str(texts)]
    )


def test_every_task_and_job_has_its_how_to(folder: Path) -> None:
    told = "".join(path.read_text(encoding="utf-8") for path in folder.rglob("*.md"))
    missing = [one.name for one in TASKS if one.sample and f"dough-advisor {one.asked_as} " not in told]
    assert not missing, missing


def test_the_references_name_all_there_is(client: TestClient) -> None:
    told = re.split(r"^## (.+)$", of("reference/command-line", client), flags=re.MULTILINE)
    command = dict(zip(told[1::2], told[2::2], strict=True))
    whole, verbs = parser(None)
    [among] = [one for one in whole._actions if isinstance(one, argparse._SubParsersAction)]
    assert set(verbs) == command.keys()
    options = [
        (verb, option)
        for verb in verbs
        for action in among.choices[verb]._actions
        for option in action.option_strings
    ]
    assert len(options) > 300
    assert not [one for one in options if not re.search(rf"{one[1]}(?![\w-])", command[one[0]])]
    python = of("reference/python", client)
    assert not [one for one in dir(advisor) if one != "__version__" and f"## advisor.{one}\n" not in python]


def test_the_reference_names_every_call_and_every_field(client: TestClient) -> None:
    app = client.app
    assert isinstance(app, FastAPI)
    described, reference = app.openapi(), of("reference/api", client)
    calls = [
        f"| `{method.upper()} {path}` | {told['summary']} | `{told['operationId']}` |"
        for path, methods in described["paths"].items()
        for method, told in methods.items()
    ]
    assert len(calls) > 60
    assert not [call for call in calls if reference.count(call) != 1]
    told = re.split(r"^### (.+)$", reference.partition("## Problem codes")[0], flags=re.MULTILINE)
    shapes = dict(zip(told[1::2], told[2::2], strict=True))
    fields = [
        (name, field)
        for name, shape in described["components"]["schemas"].items()
        for field in shape.get("properties", ())
    ]
    assert len(fields) > 500
    assert not [
        one for one in fields if not re.search(rf"^\| \**{one[1]}\** \|", shapes[one[0]], re.MULTILINE)
    ]


def test_the_rules_are_told_file_by_file_and_a_material_and_a_limit_field_by_field(
    client: TestClient,
) -> None:
    told = of("reference/rules", client)
    files = [
        path.relative_to(ROOT / "rules") for path in (ROOT / "rules").rglob("*.*") if path.suffix in RULES
    ]
    assert len(files) > 40
    shown = {"materials", *re.findall(r"`([\w/.-]+)`", told)}
    assert not [one for one in files if not {one.name, one.as_posix(), one.parts[0]} & (shown - {"law"})]
    assert not [
        field for field in Material.model_fields if f"`{field}`" not in told and field not in IN_BLOCKS
    ]
    columns = {
        field.alias or name for row in (ProhibitedRow, LimitRow) for name, field in row.model_fields.items()
    }
    assert len(columns) > 15
    assert not [field for field in sorted(columns) if f"`{field}`" not in told]


def test_every_variable_that_is_read_is_in_the_table_of_settings(client: TestClient) -> None:
    table = of("reference/settings", client)
    read = {
        name
        for package in ("advisor", "api")
        for path in (ROOT / package).rglob("*.py")
        for name in re.findall(r"\bDOUGH_[A-Z_]+\b", path.read_text(encoding="utf-8"))
    }
    assert len(read) > 10
    assert not [name for name in sorted(read) if table.count(f"| `{name}` |") != 1]


def test_no_word_of_the_glossary_stands_twice(folder: Path) -> None:
    glossary = (folder / "glossary.md").read_text(encoding="utf-8")
    words = re.findall(r"^\| ([^|]+) \| ", glossary, re.MULTILINE)
    words = [word for entry in words for word in entry.split(", ") if entry != "word"]
    assert len(words) > 60
    assert sorted(words) == sorted(set(words))


@pytest.mark.slow
def test_the_site_is_built_whole_and_asks_no_other_host(tmp_path: Path) -> None:
    command = [
        "-m",
        "mkdocs",
        "build",
        "--quiet",
        "--strict",
        "-f",
        "docs/mkdocs.yml",
        "-d",
        str(tmp_path / "site"),
    ]
    built = subprocess.run([sys.executable, *command], cwd=ROOT, capture_output=True, text=True, timeout=120)
    assert built.returncode == 0, built.stderr
    for one in entries():
        page = (tmp_path / "site" / f"{one.name}.html").read_text(encoding="utf-8")
        assert not re.findall(r'<(?:script|link|img)[^>]*(?:src|href)="(?:https?:)?//', page), one.name
